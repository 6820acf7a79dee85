"""Sets of answers that the conversation can expect."""

from __future__ import annotations

from decimal import Decimal

from handsfree.job.quantity import QUANTITIES, Quantity
from handsfree.job.reading import Subject
from handsfree.job.record import Record
from handsfree.job.unit import Family, Measure, Unit, family_of
from handsfree.language.meaning import Choice, CodeSaid, Meaning, ReadingSaid, StartClock, Word


class ExpectedReading(Record):
    """A reading that a step asks for, in ``unit`` if the speaker names none.

    ``scale`` is the lowest and highest value and the step of a controller's setting, or None if it
    is unknown. ``by_ear`` is true if the clock may be started for it.
    """

    quantity: Quantity
    subject: Subject
    unit: Unit
    scale: tuple[Decimal, Decimal, Decimal] | None = None
    by_ear: bool = False

    def fits(self, meaning: Meaning | None) -> bool:
        """True if an utterance names the quantity with a usual value."""
        match meaning:
            case StartClock(subject=subject, together=together):
                return self.by_ear and not together and subject in (None, self.subject)
            case ReadingSaid(quantity=self.quantity, subject=subject, open_time=False):
                return subject in (None, self.subject) and self.is_usual(meaning)
            case _:
                return False

    def is_usual(self, said: ReadingSaid) -> bool:
        """True if a value is usual for the quantity: in one of its units, and on its scale."""
        if self.scale is not None:
            low, high, step = self.scale
            return low <= said.value <= high and (said.value - low) % step == 0
        facts, measure = QUANTITIES[self.quantity], self.measure(said)
        return family_of(measure.unit) is facts.family and facts.plausible(measure)

    def measure(self, said: ReadingSaid) -> Measure:
        """The value in the unit that was said or meant: pounds mean pounds-force for a force."""
        unit = said.unit or self.unit
        if unit is Unit.POUND and QUANTITIES[self.quantity].family is Family.FORCE:
            unit = Unit.POUND_FORCE
        return Measure(value=said.value, unit=unit)


class AnswerSet(Record):
    """Expected answers: words by their kind, choices by their value, a reading.

    ``codes`` is true if a controller's code or display may be said.
    """

    words: frozenset[str] = frozenset()
    choices: frozenset[str] = frozenset()
    reading: ExpectedReading | None = None
    codes: bool = False

    def __bool__(self) -> bool:
        return bool(self.words or self.choices or self.reading or self.codes)

    @property
    def read_back(self) -> bool:
        """True if every answer in the set is read back and affirmed before it counts."""
        return not self.words

    def fits(self, meaning: Meaning | None) -> bool:
        """True if an utterance is one of the answers in the set."""
        match meaning:
            case Word(kind="affirm" | "negative", everyday=True) if "in_order" in self.choices:
                return True
            case Word(kind=kind):
                return kind in self.words
            case Choice(value=value):
                return value in self.choices
            case CodeSaid():
                return self.codes
            case _:
                return self.reading is not None and self.reading.fits(meaning)


NOTHING = AnswerSet()
"""No particular answer is expected."""
YES_OR_NO = AnswerSet(words=frozenset({"affirm", "negative"}))
"""Assent and refusal, always together because they can sound alike."""
LEAVES = AnswerSet(choices=frozenset({"left", "right", "both"}))
"""The left leaf, the right leaf or both."""
