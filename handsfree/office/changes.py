"""Changes that the office can make to a visit: a record for each kind of form."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Literal, get_args

from pydantic import AfterValidator, Field, StringConstraints, TypeAdapter, ValidationError

from handsfree.errors import OfficeError
from handsfree.job.reading import Subject
from handsfree.job.record import Record
from handsfree.job.visit_fact import LONGEST_WORDS, VISIT_FACTS
from handsfree.journal.office_events import DECISIONS, Thing
from handsfree.journal.plain_words import step_words, words_of
from handsfree.language.visit_fact_words import fact_name
from handsfree.language.wording import wording
from handsfree.office.sign_off_blockers import name_of
from handsfree.visit_record.visit_record import VisitRecord

LONGEST = 2000
"""Longest reason, meaning or note (characters)."""


def _fact_on_paper(about: str) -> str:
    subject, _, name = about.partition("/")
    if subject not in tuple(Subject) or name not in VISIT_FACTS or name == "photo":
        raise ValueError(f"there is no '{about[:40]}' to fill in")
    return about


Why = Annotated[str, StringConstraints(strip_whitespace=True, min_length=1, max_length=LONGEST)]
Words = Annotated[str, StringConstraints(strip_whitespace=True, min_length=1, max_length=LONGEST)]
Filled = Annotated[
    str, StringConstraints(strip_whitespace=True, min_length=1, max_length=LONGEST_WORDS)
]
Short = Annotated[str, StringConstraints(strip_whitespace=True, min_length=1, max_length=80)]


class Confirm(Record):
    """Confirms after listening that a reading is what was said."""

    kind: Literal["confirm"] = "confirm"
    reading_id: str


class DrawSample(Record):
    """Draws a sample, by a random ``seed``, of the readings to be confirmed together.

    It writes nothing if nothing is left to draw.
    """

    kind: Literal["sample"] = "sample"
    seed: str


class ConfirmTogether(Record):
    """Confirms readings together after their sample; holds their ids, separated by spaces."""

    kind: Literal["together"] = "together"
    reading_ids: str

    @property
    def ids(self) -> tuple[str, ...]:
        """The ids of the readings."""
        return tuple(dict.fromkeys(self.reading_ids.split()))


class Amend(Record):
    """Gives a reading another value, as typed: '4.5' or '4.5 s'.

    ``sure`` confirms an unusually large or small value.
    """

    kind: Literal["amend"] = "amend"
    reading_id: str
    new: Short
    why: Why
    sure: bool = False


class Strike(Record):
    """Removes a reading that was not meant as one."""

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


class _OnPaper(Record):
    """A change to a visit fact; ``about`` is 'left leaf/operator_serial'."""

    about: Annotated[str, AfterValidator(_fact_on_paper)]
    why: Why

    @property
    def subject(self) -> Subject:
        """The leaf, or the opening."""
        return Subject(self.about.partition("/")[0])

    @property
    def name(self) -> str:
        """The id of the fact in visit_facts.toml."""
        return self.about.partition("/")[2]

    @property
    def called(self) -> str:
        """The name of the fact."""
        return fact_name(wording(), self.name, self.subject)


class AmendVisitFact(_OnPaper):
    """Corrects the fact of event ``seq``, or fills in one that nobody stated (None).

    ``new`` is as typed; for a moment the local time of day at the visit: '09:15'.
    """

    kind: Literal["noted"] = "noted"
    seq: int | None = None
    new: Filled


class StrikeVisitFact(_OnPaper):
    """Removes the visit fact of event ``seq``."""

    kind: Literal["strike_noted"] = "strike_noted"
    seq: int


class AmendMeaning(Record):
    """States in words what was said in the utterance of event ``seq``."""

    kind: Literal["meaning"] = "meaning"
    seq: int
    new: Words
    why: Why


class AmendNote(Record):
    """Writes down what the note or the reason of event ``seq`` says."""

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
    """Signs the visit off in its present state."""

    kind: Literal["sign"] = "sign"


Change = Annotated[
    Confirm
    | DrawSample
    | ConfirmTogether
    | Amend
    | Strike
    | AmendFact
    | AmendVisitFact
    | StrikeVisitFact
    | AmendMeaning
    | AmendNote
    | Decide
    | SignOff,
    Field(discriminator="kind"),
]
_CHANGE: TypeAdapter[Change] = TypeAdapter(Change)
_FIELDS = {
    record.model_fields["kind"].default: record.model_fields.keys()
    for record in get_args(get_args(Change)[0])
}
_WANTED = {
    "why": "say why, in a few words",
    "new": "write what it should be",
    "decision": "choose one of the decisions",
}


def change_of(fields: Mapping[str, str]) -> Change:
    """Builds the change from a form. Raises OfficeError naming what is missing or too long."""
    known = _FIELDS.get(fields.get("kind", ""), frozenset())
    asked = {key: value for key, value in fields.items() if key in known}
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
            "the office cannot make this change", way_out="go back and use the page's own form"
        ) from error


def things_of(change: Change) -> frozenset[Thing] | None:
    """The items affected by a change; None for a sign-off, which concerns everything."""
    match change:
        case Confirm(reading_id=name) | Amend(reading_id=name) | Strike(reading_id=name):
            return frozenset({("reading", name)})
        case ConfirmTogether():
            return frozenset(("reading", each) for each in change.ids)
        case DrawSample():
            return frozenset()
        case AmendFact(subject=subject, name=name):
            return frozenset({("fact", f"{subject}/{name}")})
        case AmendVisitFact(about=about) | StrikeVisitFact(about=about):
            return frozenset({("noted", about)})
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
        case DrawSample():
            return "draw a sample to listen to"
        case ConfirmTogether():
            return f"confirm {len(change.ids)} readings together"
        case AmendFact(subject=subject, name=name, new=new):
            return f"{subject}, {words_of(name)}: {words_of(new)}"
        case AmendVisitFact(new=new):
            return f"{change.called}: {new}"
        case StrikeVisitFact():
            return f"strike {change.called} out"
        case Decide(key=key, decision=decision):
            return f"{step_words(key)}: {DECISIONS[decision]}"
        case SignOff():
            return "sign the visit off"
        case _:
            return f"line {change.seq}: {change.new}"
