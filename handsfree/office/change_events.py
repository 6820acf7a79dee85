"""A change of the office as events of the journal: nothing is overwritten, old and new stand."""

from __future__ import annotations

from collections.abc import Callable

from handsfree.checks.limit_set import LimitSet
from handsfree.errors import BadValue, OfficeError
from handsfree.job.closed_lists import CHOICES
from handsfree.job.opening import Action, Lock, Side, Swing, WeightSource
from handsfree.job.quantity import QUANTITIES
from handsfree.job.unit import Measure, parse_measure
from handsfree.journal import events as ev
from handsfree.journal import office_events as office
from handsfree.journal.job_fold import fold_job
from handsfree.office.changes import (
    Amend,
    AmendFact,
    AmendMeaning,
    AmendNote,
    Change,
    Confirm,
    Decide,
    SignOff,
    Strike,
)
from handsfree.office.reevaluation import judged_anew
from handsfree.office.sign_off_blockers import undecided
from handsfree.procedure.step import Procedure
from handsfree.visit_record.reading_story import ReadingStory
from handsfree.visit_record.visit_record import VisitRecord

Limits = Callable[[], LimitSet]
"""Gives the limits of the visit when they are needed; it raises where they have changed since."""

_OBSERVED = ("in_order", "not_in_order")
_BUILT_ON = {
    "leaf": tuple(Side),
    "hand": tuple(Side),
    "hinge_side": tuple(Side),
    "swing": tuple(Swing),
    "lock": tuple(Lock),
    "weight_source": tuple(WeightSource),
    "action": tuple(Action),
}
"""What the opening is derived from takes these values and no other."""


def bodies_of(change: Change, visit: VisitRecord, by: str, limits: Limits) -> tuple[ev.Body, ...]:
    """The events of a change, in their order; they are one write.

    A reading that is amended or struck, or a choice that
    changes the door, is judged anew: its ``judged`` comes along. Raises OfficeError for a change
    that cannot be made, with the reason and the way out.
    """
    match change:
        case Confirm():
            return (office.ReadingConfirmed(reading_id=_standing(visit, change).id, by=by),)
        case Amend() | Strike():
            return _reread(change, visit, by, limits)
        case AmendFact():
            return _fact(change, visit, by, limits)
        case AmendMeaning(seq=seq, new=new, why=why):
            heard = next((u for u in visit.utterances if u.seq == seq), None)
            if heard is None:
                raise _gone(f"nothing was heard in line {seq}")
            old = heard.amendments[-1].new if heard.amendments else heard.taken_for
            _differs(old, new)
            return (office.MeaningAmended(seq=seq, old=old, new=new, by=by, why=why),)
        case AmendNote(seq=seq, new=new, why=why):
            note = next((n for n in visit.notes if n.seq == seq), None)
            if note is None:
                raise _gone(f"there is no note in line {seq}")
            _differs(note.now, new)
            return (office.NoteAmended(seq=seq, old=note.now, new=new, by=by, why=why),)
        case Decide(key=key, decision=decision, why=why):
            if all(matter.key != key for matter in visit.open_items):
                raise _gone("this is no matter to decide any more")
            return (office.OpenDecided(key=key, decision=decision, by=by, why=why),)
        case SignOff():
            return (_sign(visit, by),)


def answers_of(name: str, value: str, procedure: Procedure | None) -> list[str]:
    """The values that a choice or an observation can be corrected to, the present one among them.

    ``procedure`` is that of the visit, None where it is not at hand: then every word that can be
    chosen in some visit is offered.
    """
    if name in _BUILT_ON:
        return [str(each) for each in _BUILT_ON[name]]
    known: list[str] = []
    for step in procedure.steps if procedure is not None else ():
        if step.fact == name:
            known += _OBSERVED if step.waits == "observation" else [o.value for o in step.options]
    if value in _OBSERVED or not known:
        known = [*(_OBSERVED if value in _OBSERVED else CHOICES)]
    return list(dict.fromkeys((*known, value)))


def _standing(visit: VisitRecord, change: Confirm | Amend | Strike) -> ReadingStory:
    item = visit.reading(change.reading_id)
    if item is None:
        raise _gone(f"there is no reading {change.reading_id}")
    if item.gone is not None:
        raise _gone(f"reading {item.id} was {item.gone.how} by {item.gone.by}")
    return item


def _reread(
    change: Amend | Strike,
    visit: VisitRecord,
    by: str,
    limits: Limits,
) -> tuple[ev.Body, ...]:
    item = _standing(visit, change)
    body: ev.Body
    if isinstance(change, Strike):
        body = office.ReadingStruck(reading_id=item.id, by=by, why=change.why)
    else:
        old, new = item.now.measure, _measure(change, item)
        body = office.ReadingAmended(reading_id=item.id, old=old, new=new, by=by, why=change.why)
    before = visit.job
    after = fold_job(before, body)
    assert after is not None
    found = judged_anew(before, after, limits(), item.now)
    return (body, ev.Judged(findings=found)) if found else (body,)


def _measure(change: Amend, item: ReadingStory) -> Measure:
    """The value as it was typed; without a unit it is in that of the reading."""
    facts = QUANTITIES[item.now.quantity]
    text = change.new.replace(",", ".").replace("°", " deg")
    try:
        new = parse_measure(text, facts.family, item.now.unit)
    except BadValue as error:
        raise OfficeError(error.message, way_out=error.way_out) from error
    if (new.value, new.unit) == (item.now.value, item.now.unit):
        raise OfficeError(
            f"that is the value that it has: {new}", way_out="confirm it, where it is right"
        )
    if new.value < 0:
        raise OfficeError(
            f"{new} is less than nothing: no {facts.spoken} is",
            way_out="give the value that was said",
        )
    if not facts.plausible(new) and not change.sure:
        raise OfficeError(
            f"{new} is no plausible {facts.spoken}: it lies {facts.plausible_range}",
            way_out="tick 'it really was so' where it was",
        )
    return new


def _fact(
    change: AmendFact,
    visit: VisitRecord,
    by: str,
    limits: Limits,
) -> tuple[ev.Body, ...]:
    item = next(
        (f for f in visit.facts if (f.subject, f.name) == (change.subject, change.name)), None
    )
    if item is None:
        raise _gone("nothing of the kind was observed")
    observed = _OBSERVED if item.value in _OBSERVED else CHOICES
    if change.new not in _BUILT_ON.get(item.name, observed):
        raise OfficeError(f"'{change.new}' is no answer here", way_out="choose one of the list")
    _differs(item.value, change.new)
    body = office.FactAmended(
        subject=item.subject, name=item.name, old=item.value, new=change.new, by=by, why=change.why
    )
    before = visit.job
    after = fold_job(before, body)
    assert after is not None
    if before.opening == after.opening:
        return (body,)
    found = judged_anew(before, after, limits())
    return (body, ev.Judged(findings=found)) if found else (body,)


def _sign(visit: VisitRecord, by: str) -> office.SignedOff:
    left = undecided(visit)
    if left:
        more = f", and {len(left) - 1} more" if len(left) > 1 else ""
        raise OfficeError(f"it cannot be signed off yet: {left[0].what}{more}")
    if visit.signed and visit.sign_off is not None and visit.sign_off.by == by:
        raise OfficeError("you have signed it off already, and nothing has changed since")
    assert visit.head is not None  # a broken journal is undecided
    return office.SignedOff(by=by, head=visit.head)


def _differs(old: str, new: str) -> None:
    if old == new:
        raise OfficeError("that is what stands there already", way_out="change something, or leave")


def _gone(reason: str) -> OfficeError:
    return OfficeError(reason, way_out="go back to the visit and look at it as it is now")
