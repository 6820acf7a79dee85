"""Turns an office change into journal events. Nothing is overwritten: old and new values both
stay.

An impossible change raises OfficeError with the reason and the way out.
"""

from __future__ import annotations

from collections.abc import Callable

from handsfree.checks.limit_set import LimitSet
from handsfree.errors import OfficeError
from handsfree.job.visit_fact import VISIT_FACTS
from handsfree.journal import events as ev
from handsfree.journal import office_events as office
from handsfree.office.changes import (
    Amend,
    AmendFact,
    AmendMeaning,
    AmendNote,
    AmendVisitFact,
    Change,
    Confirm,
    ConfirmTogether,
    Decide,
    DrawSample,
    SignOff,
    Strike,
    StrikeVisitFact,
)
from handsfree.office.new_values import new_measure, refuse_unknown_answer
from handsfree.office.new_visit_facts import new_visit_fact
from handsfree.office.reevaluation import reevaluated_findings
from handsfree.office.review_plan import review_plan
from handsfree.office.sign_off_blockers import blockers, name_of
from handsfree.office.spoken_words import spoken_words
from handsfree.visit_record.progress import fold_job
from handsfree.visit_record.reading_story import ReadingStory
from handsfree.visit_record.visit_record import VisitRecord

Limits = Callable[[], LimitSet]
"""Loads the visit's limit set when needed; raises OfficeError if it has changed since the visit."""


def bodies_of(change: Change, visit: VisitRecord, by: str, limits: Limits) -> tuple[ev.Body, ...]:
    """The events of a change, in order, to be appended in one write.

    An amended or struck reading, or a choice that changes the door, is judged again, which adds a
    ``judged`` event. Raises OfficeError for an impossible change.
    """
    match change:
        case Confirm():
            return (office.ReadingConfirmed(reading_id=_standing(visit, change).id, by=by),)
        case DrawSample(seed=seed):
            return _draw(visit, seed, by)
        case ConfirmTogether():
            return (_together(visit, change.ids, by),)
        case Amend() | Strike():
            return _reread(change, visit, by, limits)
        case AmendFact():
            return _fact(change, visit, by, limits)
        case AmendVisitFact() | StrikeVisitFact():
            return (_filled_in(change, visit, by),)
        case AmendMeaning(seq=seq, new=new, why=why):
            heard = next((u for u in visit.utterances if u.seq == seq), None)
            if heard is None:
                raise _gone(f"nothing was heard in line {seq}")
            old = heard.amendments[-1].new if heard.amendments else heard.taken_for
            _differs(old, new)
            return (office.MeaningAmended(seq=seq, old=old, new=new, by=by, why=why),)
        case AmendNote(seq=seq, new=new, why=why):
            words = spoken_words(visit, seq)
            if words is None:
                raise _gone(f"there is no note and no reason in line {seq}")
            if words.amendments:
                _differs(words.now, new)
            return (office.NoteAmended(seq=seq, old=words.now, new=new, by=by, why=why),)
        case Decide(key=key, decision=decision, why=why):
            if all(matter.key != key for matter in visit.open_items):
                raise _gone("this no longer needs a decision")
            return (office.OpenDecided(key=key, decision=decision, by=by, why=why),)
        case SignOff():
            return (_sign(visit, by),)


def _draw(visit: VisitRecord, seed: str, by: str) -> tuple[ev.Body, ...]:
    pool = tuple(item.id for item in review_plan(visit).undrawn)
    if not pool:
        return ()
    drawn = office.draw(pool, seed)[: office.sample_size(len(pool))]
    return (office.SampleDrawn(seed=seed, pool=pool, drawn=drawn, by=by),)


def _together(visit: VisitRecord, ids: tuple[str, ...], by: str) -> office.ReadingsConfirmed:
    plan = review_plan(visit)
    if not ids or not set(ids) <= set(plan.ready):
        first = plan.listen[0] if plan.listen else None
        alone = first is not None and f"{name_of(first)} is to be listened to first"
        raise OfficeError(
            f"these cannot be confirmed together: {alone or 'their sample is not drawn yet'}",
            way_out="go back to listening, which shows what is left",
        )
    return office.ReadingsConfirmed(reading_ids=ids, by=by)


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
        old, new = item.now.measure, new_measure(item.now, change.new, sure=change.sure)
        body = office.ReadingAmended(reading_id=item.id, old=old, new=new, by=by, why=change.why)
    before = visit.job
    after = fold_job(before, body)
    assert after is not None
    found = reevaluated_findings(before, after, limits(), item.now)
    return (body, ev.Judged(findings=found)) if found else (body,)


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
    refuse_unknown_answer(item.name, item.value, change.new)
    _differs(item.value, change.new)
    body = office.FactAmended(
        subject=item.subject, name=item.name, old=item.value, new=change.new, by=by, why=change.why
    )
    before = visit.job
    after = fold_job(before, body)
    assert after is not None
    if before.opening == after.opening:
        return (body,)
    found = reevaluated_findings(before, after, limits())
    return (body, ev.Judged(findings=found)) if found else (body,)


def _filled_in(
    change: AmendVisitFact | StrikeVisitFact, visit: VisitRecord, by: str
) -> office.VisitFactAmended:
    of = (change.seq, change.subject, change.name)
    story = next((s for s in visit.visit_facts if (s.seq, s.subject, s.name) == of), None)
    if story is None and change.seq is not None:
        raise _gone("that is no longer filled in")
    moment = VISIT_FACTS[change.name].takes == "moment"
    old = "" if story is None else story.at if moment else story.value
    new = "" if isinstance(change, StrikeVisitFact) else new_visit_fact(change, visit, old)
    if new:
        _differs(old, new)
    return office.VisitFactAmended(
        seq=change.seq,
        subject=change.subject,
        name=change.name,
        old=old,
        new=new,
        by=by,
        why=change.why,
    )


def _sign(visit: VisitRecord, by: str) -> office.SignedOff:
    left = blockers(visit)
    if left:
        more = f", and {len(left) - 1} more" if len(left) > 1 else ""
        raise OfficeError(f"it cannot be signed off yet: {left[0].what}{more}")
    if visit.signed and visit.sign_off is not None and visit.sign_off.by == by:
        raise OfficeError("you have signed it off already, and nothing has changed since")
    assert visit.head is not None  # a broken journal counts as undecided
    return office.SignedOff(by=by, head=visit.head)


def _differs(old: str, new: str) -> None:
    if old == new:
        raise OfficeError("that is the present value", way_out="change something, or leave")


def _gone(reason: str) -> OfficeError:
    return OfficeError(reason, way_out="go back to the visit and check its present state")
