"""Which answers alone the conversation waits for: what may be sought in a sound once more.

A reading is sought only as one of the quantity that the step asks for, which has to be said
with it: most of what is falsely heard as a reading is a bare number. It is read back, as ever.

A caution, a pause and whatever is said in free words are left out on purpose: their words are
heard at once, or not at all.
"""

from __future__ import annotations

from decimal import Decimal

from handsfree.dialogue.pending import (
    AskedRun,
    AskedSubject,
    AskedWord,
    ClockLeaf,
    PendingFact,
    PendingReading,
    PendingReadings,
    PendingWithdrawal,
)
from handsfree.dialogue.state import State
from handsfree.job.quantity import QUANTITIES, Quantity
from handsfree.job.reading import Subject
from handsfree.job.record import Record
from handsfree.job.unit import Family, Measure, Unit, family_of
from handsfree.language.meaning import Choice, Meaning, ReadingSaid, StartClock, Word
from handsfree.timing.cycle import SPANS

_SIDES = frozenset({"left", "right", "both"})
_OBSERVED = frozenset({"in_order", "not_in_order"})


class AwaitedReading(Record):
    """A reading that a step asks for, in ``unit`` where none is said.

    ``scale`` is the lowest and highest value and the step of a setting, None where it is not
    known; ``by_ear`` is whether the clock may be started for it.
    """

    quantity: Quantity
    subject: Subject
    unit: Unit
    scale: tuple[Decimal, Decimal, Decimal] | None = None
    by_ear: bool = False

    def fits(self, meaning: Meaning | None) -> bool:
        """Whether an utterance names the quantity, with a value that is usual for it."""
        match meaning:
            case StartClock(subject=subject, together=together):
                return self.by_ear and not together and subject in (None, self.subject)
            case ReadingSaid(quantity=self.quantity, subject=subject, open_time=False):
                return subject in (None, self.subject) and self.is_usual(meaning)
            case _:
                return False

    def is_usual(self, said: ReadingSaid) -> bool:
        """Whether a value is usual for the quantity, in a unit of it and on its scale."""
        if self.scale is not None:
            low, high, step = self.scale
            return low <= said.value <= high and (said.value - low) % step == 0
        facts, measure = QUANTITIES[self.quantity], self.measure(said)
        return family_of(measure.unit) is facts.family and facts.plausible(measure)

    def measure(self, said: ReadingSaid) -> Measure:
        """The value in the unit that was said, or is meant: pounds are a force for a force."""
        unit = said.unit or self.unit
        if unit is Unit.POUND and QUANTITIES[self.quantity].family is Family.FORCE:
            unit = Unit.POUND_FORCE
        return Measure(value=said.value, unit=unit)


class Awaited(Record):
    """Answers that end what waits: words by their kind, choices by their value, a reading."""

    words: frozenset[str] = frozenset()
    choices: frozenset[str] = frozenset()
    reading: AwaitedReading | None = None

    def __bool__(self) -> bool:
        return bool(self.words or self.choices or self.reading)

    @property
    def read_back(self) -> bool:
        """Whether none of them counts before it was read back and affirmed."""
        return not self.words

    def fits(self, meaning: Meaning | None) -> bool:
        """Whether an utterance is one of them."""
        match meaning:
            case Word(kind=kind):
                return kind in self.words
            case Choice(value=value):
                return value in self.choices
            case _:
                return self.reading is not None and self.reading.fits(meaning)


NOTHING = Awaited()
# The refusal is always beside the assent: whatever may be heard as one may be heard as the other.
_AGREEMENT = Awaited(words=frozenset({"affirm", "negative"}))


def awaited(state: State) -> Awaited:
    """The answers that are waited for now; none where anything else is."""
    if state.progress.closed or state.progress.standing_by is not None:
        return NOTHING
    match state.pending:
        case None:
            return _of_step(state)
        case PendingReading() | PendingReadings() | PendingFact():
            return _AGREEMENT
        case PendingWithdrawal() | AskedRun():
            return _AGREEMENT
        case AskedWord():
            return Awaited(words=frozenset({"done_later", "not_applicable", "refused"}))
        case AskedSubject() | ClockLeaf():
            return Awaited(choices=_SIDES)
        case _:
            return NOTHING


def _of_step(state: State) -> Awaited:
    task = state.task
    if task is None or task.key in state.progress.ended:
        return NOTHING
    step = task.step
    if step.caution is not None and task.key not in state.progress.cautioned:
        return NOTHING
    match step.waits:
        case "observation":
            return Awaited(choices=_OBSERVED)
        case "choice":
            return Awaited(choices=frozenset(option.value for option in step.options))
        case "done":
            return Awaited(words=frozenset({"done"}))
        case "reading" if step.quantity is not None:
            return Awaited(reading=reading_of(state, step.quantity, task.subject))
        case _:
            return NOTHING


def reading_of(
    state: State, quantity: Quantity, subject: Subject = Subject.OPENING
) -> AwaitedReading:
    """What a reading of a quantity must be to be a usual one in this job."""
    controller = state.procedure.controller
    return AwaitedReading(
        quantity=quantity,
        subject=subject,
        unit=QUANTITIES[quantity].default_unit(state.progress.job.sheet.units),
        scale=controller.range(quantity) if controller is not None else None,
        by_ear=state.times_by_ear and quantity in SPANS,
    )
