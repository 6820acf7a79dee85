"""Meanings of utterances as frozen records: the grammar's only output.

Every meaning has a ``kind``. A reading is ``{"kind": "reading", "subject": "left leaf", "quantity":
"opening_time", "value": "6.2", "unit": "s"}``; an answer is ``{"kind": "affirm"}``.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, TypeAdapter, model_validator

from handsfree.job.fault_kinds import FaultName, PartName, WorkName
from handsfree.job.quantity import Quantity
from handsfree.job.reading import Subject
from handsfree.job.record import Number, Record
from handsfree.job.unit import Unit
from handsfree.job.visit_fact import VISIT_FACTS, as_code
from handsfree.language.item_answers import ItemsSaid


class Word(Record):
    """A word with a fixed meaning and no content.

    ``affirm`` and ``negative`` answer a readback; ``clear`` acknowledges a caution; the others
    steer the conversation. ``everyday`` is true for 'yes', 'no' and 'roger', whose meaning depends
    on the question (dialogue/everyday_words.py).
    """

    kind: Literal[
        "affirm",
        "negative",
        "correct",
        "clear",
        "not_clear",
        "disregard",
        "say_again",
        "stand_by",
        "carry_on",
        "how_do_you_read",
        "where_am_i",
        "what_is_left",
        "what_is_the_limit",
        "why",
        "help",
        "done",
        "skip",
        "go_back",
        "withdraw",
        "note",
        "cancel_clock",
        "stop",
        "speak_less",
        "speak_more",
        "slower",
        "faster",
        "louder",
        "softer",
        "done_later",
        "not_applicable",
        "refused",
        "put_right",
        "measure_again",
        "tagged_out",
        "accepted",
        "dont_know",
        "jog",
        "what_did_we_set",
        "locked_out",
        "not_locked",
        "proved_dead",
        "still_live",
    ]
    everyday: bool = Field(default=False, exclude_if=lambda everyday: not everyday)


class ReadingSaid(Record):
    """A value with whatever context was said.

    ``subject`` and ``quantity`` are None if the step must supply them; ``unit`` is None if none was
    said and the quantity does not imply one. ``open_time`` is true if the trade's ambiguous 'open
    time' was said: ``quantity`` is then opening_time, and a step that waits for the hold-open time
    takes it as that.
    """

    kind: Literal["reading"] = "reading"
    subject: Subject | None = None
    quantity: Quantity | None = None
    value: Number
    unit: Unit | None = None
    open_time: bool = Field(default=False, exclude=True)


class ReadingsSaid(Record):
    """Several readings from one utterance, in the spoken order.

    The leaf carries over to readings that name none.
    """

    kind: Literal["readings"] = "readings"
    readings: tuple[ReadingSaid, ...]


class Correction(Record):
    """'Correction ...': the reading that replaces the pending one."""

    kind: Literal["correction"] = "correction"
    reading: ReadingSaid


class Choice(Record):
    """One of the answers that a step offers: 'left leaf', 'push', 'pass'.

    ``value`` is one of job.closed_lists.CHOICES: left, pair, in_order, the answers of
    door_features.toml, a complaint. ``noun`` is the word said with left, right or both ('leaf',
    'hand', 'side'), or None. ``both`` is true if it answers for every leaf, side or plate at once.
    ``everyday`` is true for 'good', 'loose' and similar words in place of 'pass' and 'fail'.
    """

    kind: Literal["choice"] = "choice"
    value: str
    noun: str | None = None
    both: bool = Field(default=False, exclude_if=lambda both: not both)
    everyday: bool = Field(default=False, exclude_if=lambda everyday: not everyday)


class FactSaid(Record):
    """A complete statement: 'motor one left leaf', 'motor two right hand'.

    ``name`` is 'leaf', 'hand', 'hinge_side', 'action', 'weight_source' or a feature of
    door_features.toml.
    """

    kind: Literal["fact"] = "fact"
    subject: Subject
    name: str
    value: str


class Found(Record):
    """'I found the left arm loose': the id of a fault, and its place if that was said."""

    kind: Literal["found"] = "found"
    value: FaultName
    subject: Subject | None = None


class Worked(Record):
    """'Replaced the arm': the work on a fault, and the part if it was named.

    ``about`` is the key of the fault, added by the conversation if it knows it. ``hand_over`` is
    True if the work leads to the hand-over, ``again`` if nothing was done and the reading is to be
    repeated.
    """

    kind: Literal["worked"] = "worked"
    value: WorkName
    part: PartName | None = None
    about: str | None = Field(default=None, exclude=True)
    hand_over: bool = Field(default=False, exclude=True)
    again: bool = Field(default=False, exclude=True)


class ReadBack(Record):
    """'Read back ...': the job's values for a subject, a quantity, or all."""

    kind: Literal["read_back"] = "read_back"
    subject: Subject | None = None
    quantity: Quantity | None = None


class StartClock(Record):
    """'Start the clock, left leaf'. ``together`` means both leaves in one cycle."""

    kind: Literal["start_clock"] = "start_clock"
    subject: Subject | None = None
    together: bool | None = None


class MeasureLeafSaid(Record):
    """'Measure the left leaf, open angle ninety', by the log of a sensor on it.

    ``value`` is the fully open angle measured with a square (degrees), if one was said.
    """

    kind: Literal["measure_leaf"] = "measure_leaf"
    subject: Subject | None = None
    value: Number | None = None


class WithdrawRun(Record):
    """'Withdraw run two': the number of a timed run."""

    kind: Literal["withdraw_run"] = "withdraw_run"
    value: Number


class HowFar(Record):
    """'How far is ten degrees': an angle (degrees), ``subject`` the leaf if one was said."""

    kind: Literal["how_far"] = "how_far"
    subject: Subject | None = None
    value: Number


class GoTo(Record):
    """'Go to the force checks': the id of a stage."""

    kind: Literal["go_to"] = "go_to"
    stage: str


class SkipStage(Record):
    """'Skip the settings': the id of a stage."""

    kind: Literal["skip_stage"] = "skip_stage"
    stage: str


class CodeSaid(Record):
    """'It shows echo four two': what a controller shows.

    ``code`` holds the letters and digits of a display, or the blink counts of a ``light``.
    """

    kind: Literal["code"] = "code"
    code: str
    light: bool = Field(default=False, exclude_if=lambda light: not light)

    @property
    def mark(self) -> str:
        """The code as a guide writes it: 'E42', or '2 3 blinks'."""
        return f"{' '.join(self.code)} blinks" if self.light else self.code


class MeansAsked(Record):
    """'What does alpha one mean': a question about a code."""

    kind: Literal["what_means"] = "what_means"
    code: str
    light: bool = Field(default=False, exclude_if=lambda light: not light)

    @property
    def mark(self) -> str:
        """The code as a guide writes it: 'E42', or '2 3 blinks'."""
        return CodeSaid(code=self.code, light=self.light).mark


class GoToEntry(Record):
    """'Go to entry seven': an entry of the controller's guide, by its noun and number.

    ``control`` is 'entry', 'switch', 'dial', 'button' or 'menu'.
    """

    kind: Literal["go_to_entry"] = "go_to_entry"
    control: str
    value: Number


class EntrySaid(Record):
    """'Entry three set to one': a value entered at a place.

    ``control`` and ``value`` name the place as in GoToEntry; ``code`` is the value.
    """

    kind: Literal["entered"] = "entered"
    control: str
    value: Number
    code: str


class VisitFactSaid(Record):
    """'Operator serial alpha seven four two': a visit fact by its id.

    ``code`` holds the letters and digits that were spelled (of the year, if there is a ``month``);
    ``answer`` is the id of an answer, ``text`` a typed value. A name alone has none of them.
    ``withdrawn`` is true if the fact is taken back.
    """

    kind: Literal["visit_fact"] = "visit_fact"
    fact: str
    subject: Subject | None = None
    code: str | None = None
    month: str | None = None
    answer: str | None = None
    text: str | None = None
    withdrawn: bool = Field(default=False, exclude_if=lambda withdrawn: not withdrawn)

    @model_validator(mode="after")
    def _known(self) -> VisitFactSaid:
        if self.fact not in VISIT_FACTS:
            raise ValueError(f"there is no visit fact '{self.fact[:40]}'")
        return self

    @property
    def is_name(self) -> bool:
        """True if only the name was said."""
        return not self.withdrawn and (self.code, self.answer, self.text) == (None, None, None)

    @property
    def value(self) -> str | None:
        """The value as stored in a journal; None if none was said."""
        if self.month is not None:
            return f"{self.code}-{self.month}"
        return self.answer or self.code or self.text

    def with_typed(self, value: str) -> VisitFactSaid | None:
        """The same with a typed value; None for a value that the fact cannot have."""
        takes = VISIT_FACTS[self.fact].takes
        text: str | None = value.strip()
        if takes == "code":
            # Words of the grammar are in lower case: a misheard code must not count as typed.
            text = as_code(value) if any(c.isdigit() or c.isupper() for c in value) else None
        try:
            VISIT_FACTS[self.fact].refuse(self.subject or Subject.OPENING, text or "")
        except ValueError:
            return None
        return self.model_copy(update={"text": text}) if text else None


Meaning = Annotated[
    Word
    | ReadingSaid
    | ReadingsSaid
    | Correction
    | Choice
    | FactSaid
    | ItemsSaid
    | Found
    | Worked
    | ReadBack
    | StartClock
    | MeasureLeafSaid
    | WithdrawRun
    | HowFar
    | GoTo
    | SkipStage
    | CodeSaid
    | MeansAsked
    | GoToEntry
    | EntrySaid
    | VisitFactSaid,
    Field(discriminator="kind"),
]
MEANING: TypeAdapter[Meaning] = TypeAdapter(Meaning)
