"""Changes that the office can make to a visit: one record each, with the events that it writes.

Nothing is overwritten: old and new both stand in the journal.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Annotated, Literal

from pydantic import Field, StringConstraints, TypeAdapter, ValidationError

from handsfree.checks.limit_set import LimitSet
from handsfree.errors import OfficeError
from handsfree.job.reading import Subject
from handsfree.job.record import Record
from handsfree.journal import events as ev
from handsfree.journal import office_events as office
from handsfree.journal.office_events import DECISIONS, Thing
from handsfree.journal.plain_words import step_words, words_of
from handsfree.office.new_values import new_measure, refuse_unknown_answer
from handsfree.office.reevaluation import judged_anew
from handsfree.office.sign_off_blockers import blockers, name_of
from handsfree.visit_record.progress import fold_job
from handsfree.visit_record.reading_story import ReadingStory
from handsfree.visit_record.visit_record import VisitRecord

Limits = Callable[[], LimitSet]
"""Loads the visit's limit set when needed; raises if it has changed since the visit."""
LONGEST = 2000
"""Longest reason, meaning or note (characters)."""

Why = Annotated[str, StringConstraints(strip_whitespace=True, min_length=1, max_length=LONGEST)]
Words = Annotated[str, StringConstraints(strip_whitespace=True, min_length=1, max_length=LONGEST)]
Short = Annotated[str, StringConstraints(strip_whitespace=True, min_length=1, max_length=80)]


class Confirm(Record):
    """Confirms, after listening, that a reading is what was said."""

    kind: Literal["confirm"] = "confirm"
    reading_id: str


class Amend(Record):
    """Gives a reading another value, as typed: '4.5' or '4.5 s'.

    ``sure`` when the value is meant although it is seldom so large or so small.
    """

    kind: Literal["amend"] = "amend"
    reading_id: str
    new: Short
    why: Why
    sure: bool = False


class Strike(Record):
    """Takes out a reading that was never meant as one."""

    kind: Literal["strike"] = "strike"
    reading_id: str
    why: Why


class AmendFact(Record):
    """Gives a choice or an observation another value."""

    kind: Literal["fact"] = "fact"
    subject: Subject
    name: str
    new: Short
    why: Why


class AmendMeaning(Record):
    """Says in words what the utterance of event ``seq`` was."""

    kind: Literal["meaning"] = "meaning"
    seq: int
    new: Words
    why: Why


class AmendNote(Record):
    """Writes down what the note of event ``seq`` says."""

    kind: Literal["note"] = "note"
    seq: int
    new: Words
    why: Why


class Decide(Record):
    """Decides on something that was skipped, fails or is too close to call."""

    kind: Literal["decide"] = "decide"
    key: str
    decision: Literal["accepted", "return_visit", "not_applicable"]
    why: Why


class SignOff(Record):
    """Signs the visit off as it stands now."""

    kind: Literal["sign"] = "sign"


Change = Annotated[
    Confirm | Amend | Strike | AmendFact | AmendMeaning | AmendNote | Decide | SignOff,
    Field(discriminator="kind"),
]
_CHANGE: TypeAdapter[Change] = TypeAdapter(Change)
_KNOWN = {
    name
    for record in (Confirm, Amend, Strike, AmendFact, AmendMeaning, AmendNote, Decide, SignOff)
    for name in record.model_fields
}
_WANTED = {
    "why": "say why, in a few words",
    "new": "write what it should be",
    "decision": "choose one of the decisions",
}


def change_of(fields: Mapping[str, str]) -> Change:
    """The change that a form asks for. Raises OfficeError naming what is missing or too long."""
    asked = {key: value for key, value in fields.items() if key in _KNOWN}
    try:
        return _CHANGE.validate_python(asked)
    except ValidationError as error:
        first = error.errors(include_url=False)[0]
        name = str(first["loc"][-1]) if first["loc"] else "kind"
        if first["type"] == "string_too_long":
            most = first["ctx"]["max_length"]
            raise OfficeError(f"that is too long: at most {most} characters") from error
        if name in _WANTED and first["type"] in ("string_too_short", "missing", "literal_error"):
            raise OfficeError(_WANTED[name]) from error
        raise OfficeError(
            "this is no change that the office makes", way_out="go back and use the page's own form"
        ) from error


def things_of(change: Change) -> frozenset[Thing] | None:
    """Things that a change concerns; None for a sign-off, which concerns everything."""
    match change:
        case Confirm(reading_id=name) | Amend(reading_id=name) | Strike(reading_id=name):
            return frozenset({("reading", name)})
        case AmendFact(subject=subject, name=name):
            return frozenset({("fact", f"{subject}/{name}")})
        case AmendMeaning(seq=seq):
            return frozenset({("meaning", str(seq))})
        case AmendNote(seq=seq):
            return frozenset({("note", str(seq))})
        case Decide(key=key):
            return frozenset({("matter", key)})
        case _:
            return None


def words_for(change: Change, visit: VisitRecord) -> str:
    """The requested change in one line."""
    match change:
        case Confirm(reading_id=name) | Amend(reading_id=name) | Strike(reading_id=name):
            item = visit.reading(name)
            about = name_of(item) if item is not None else f"reading {name}"
            if isinstance(change, Confirm):
                return f"confirm {about}"
            return f"strike {about} out" if isinstance(change, Strike) else f"{about}: {change.new}"
        case AmendFact(subject=subject, name=name, new=new):
            return f"{subject}, {words_of(name)}: {words_of(new)}"
        case Decide(key=key, decision=decision):
            return f"{step_words(key)}: {DECISIONS[decision]}"
        case SignOff():
            return "sign the visit off"
        case _:
            return f"line {change.seq}: {change.new}"


def bodies_of(change: Change, visit: VisitRecord, by: str, limits: Limits) -> tuple[ev.Body, ...]:
    """The events of a change, in order, to be appended in one write.

    A reading that is amended or struck, or a choice that changes the door, is judged again: its
    ``judged`` comes along. Raises OfficeError for a change that cannot be made,
    with the reason and the way out.
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
    found = judged_anew(before, after, limits(), item.now)
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
    found = judged_anew(before, after, limits())
    return (body, ev.Judged(findings=found)) if found else (body,)


def _sign(visit: VisitRecord, by: str) -> office.SignedOff:
    left = blockers(visit)
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
