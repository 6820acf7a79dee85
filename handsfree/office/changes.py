"""What the office can do to a visit, one record each, as it comes from a form."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Literal

from pydantic import Field, StringConstraints, TypeAdapter, ValidationError

from handsfree.errors import OfficeError
from handsfree.job.reading import Subject
from handsfree.job.record import Record

LONGEST = 2000
"""Characters of a reason, a meaning or a note."""

Why = Annotated[str, StringConstraints(strip_whitespace=True, min_length=1, max_length=LONGEST)]
Words = Annotated[str, StringConstraints(strip_whitespace=True, min_length=1, max_length=LONGEST)]
Short = Annotated[str, StringConstraints(strip_whitespace=True, min_length=1, max_length=80)]


class Confirm(Record):
    """Listened to, and it is what was said."""

    kind: Literal["confirm"] = "confirm"
    reading_id: str


class Amend(Record):
    """Another value for a reading, as it is written: '4.5' or '4.5 s'.

    ``sure`` when the value is meant although it is seldom so large or so small.
    """

    kind: Literal["amend"] = "amend"
    reading_id: str
    new: Short
    why: Why
    sure: bool = False


class Strike(Record):
    """A reading that was never meant as one is taken out."""

    kind: Literal["strike"] = "strike"
    reading_id: str
    why: Why


class AmendFact(Record):
    """Another value for a choice or an observation."""

    kind: Literal["fact"] = "fact"
    subject: Subject
    name: str
    new: Short
    why: Why


class AmendMeaning(Record):
    """What the utterance of event ``seq`` was, in words."""

    kind: Literal["meaning"] = "meaning"
    seq: int
    new: Words
    why: Why


class AmendNote(Record):
    """What the note of event ``seq`` says."""

    kind: Literal["note"] = "note"
    seq: int
    new: Words
    why: Why


class Decide(Record):
    """The decision on something skipped, not in order or too close to call."""

    kind: Literal["decide"] = "decide"
    key: str
    decision: Literal["accepted", "return_visit", "not_applicable"]
    why: Why


class SignOff(Record):
    """The visit as it stands now is what the office answers for."""

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
    """The change that a form asks for. Raises OfficeError with what is missing or too long."""
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


def name_of_person(text: str) -> str:
    """The name of who is at the desk. Raises OfficeError for one that cannot stand in a journal."""
    name = " ".join(text.split())
    if not name or len(name) > 80 or not name.isprintable():
        raise OfficeError("write your name, in at most 80 characters")
    return name
