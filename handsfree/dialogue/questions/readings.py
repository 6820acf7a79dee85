"""Reads readings back and files them after 'affirm'."""

from __future__ import annotations

from decimal import Decimal
from typing import ClassVar

from handsfree.checks.measured_energy import WAYS, energy_at
from handsfree.dialogue import filing, sentences
from handsfree.dialogue.listed_values import listed_at
from handsfree.dialogue.proposed_reading import ProposedReading
from handsfree.dialogue.questions.families import YesNoQuestion
from handsfree.dialogue.questions.leaf_log import LeafLogQuestion
from handsfree.dialogue.questions.which_value import ask_which_value
from handsfree.dialogue.state import Heard
from handsfree.dialogue.turn import Turn
from handsfree.job.job import leaf_side, leaves_of
from handsfree.job.quantity import QUANTITIES, Quantity
from handsfree.job.reading import Subject, Taken
from handsfree.job.unit import Family, Unit, convert
from handsfree.language.meaning import Meaning, MeasureLeafSaid, ReadingSaid, ReadingsSaid
from handsfree.language.wording import Wording, sentence

SETS_LIMIT = frozenset(
    {
        Quantity.LEAF_WIDTH,
        Quantity.LEAF_WEIGHT,
        Quantity.BACKCHECK_ANGLE,
        Quantity.PLATE_DISTANCE,
    }
)
"""Quantities from which the limits of others are computed: each needs its 'affirm'."""
_OF_ONE_UNIT = (Family.TIME, Family.STEP, Family.COUNT)


class ReadingsQuestion(YesNoQuestion):
    """One reading, or several from one utterance or one timed run; one 'affirm' files them all.

    ``leaves`` holds the leaf that was timed, then those that follow.
    """

    reads_back: ClassVar[bool] = True

    items: tuple[ProposedReading, ...]
    leaves: tuple[Subject, ...] = ()

    def answer(self, turn: Turn, heard: Heard) -> Heard | None:
        """Reads the log of a sensor again with another fully open angle ('open angle ninety')."""
        match heard.meaning:
            case MeasureLeafSaid(subject=subject, value=angle) if self.items[0].log is not None:
                leaf = subject or self.items[0].subjects[0]
                if leaf not in leaves_of(turn.job):
                    return heard
                turn.ask(LeafLogQuestion(leaf=leaf, open_angle_deg=angle))
                return None
            case _:
                return heard

    def affirm(self, turn: Turn) -> None:
        """Files the readings."""
        filing.file(turn, self.items, self.leaves)

    def negative(self, turn: Turn) -> None:
        """Drops the readings; asks about a single one whose value sounds like another."""
        if not ask_which_value(turn, self):
            super().negative(turn)

    def repeat(self, turn: Turn) -> None:
        """Reads the readings back ('Left leaf, opening time, six point two seconds.')."""
        turn.wait_for(self)
        turn.say(
            " ".join([_spoken(turn.words, self.items), *_energies(turn, self.items)]), "readback"
        )

    def echo(self, turn: Turn) -> str:
        """The value ('Six point two.'), with its name where the step asks for another one.

        '' for a value that sets a limit, may have been misheard, or was heard differently by the
        two recognizers.
        """
        if any(map(_needs_affirm, self.items)):
            return ""
        task, w, item = turn.task, turn.words, self.items[0]
        asked = None if task is None or turn.between else (task.step.quantity, (task.subject,))
        if len(self.items) > 1 or asked != (item.quantity, item.subjects):
            return _spoken(w, self.items)
        bare = QUANTITIES[item.quantity].family in _OF_ONE_UNIT
        return sentence(w.number(item.value) if bare else w.measure(item.value, item.unit))

    def is_replaced_by(self, turn: Turn, meaning: Meaning | None) -> bool:
        """True for a reading of the same quantity and subject, and for a bare number if the step
        asks for no number.

        A quantity without a leaf refers to this answer unless the current question asks for it, or
        for another one of the same utterance.
        """
        if not isinstance(meaning, ReadingSaid | ReadingsSaid):
            return False
        said = meaning.readings if isinstance(meaning, ReadingsSaid) else (meaning,)
        task = turn.task
        asked = task.step.quantity if task is not None and not turn.between else None
        if asked is None and len(self.items) == 1 == len(said) and said[0].quantity is None:
            return said[0].subject in (None, *self.items[0].subjects)
        asked_now = {asked, *(each.step.quantity for each in listed_at(turn.state))}
        answers = any(each.subject is None and each.quantity in asked_now - {None} for each in said)
        return any(
            item.quantity is each.quantity
            and (each.subject in item.subjects or (each.subject is None and not answers))
            for item in self.items
            for each in said
        )

    @property
    def proposed(self) -> tuple[ProposedReading, ...]:
        """The readings that were read back."""
        return self.items

    @property
    def timed_leaves(self) -> tuple[Subject, ...]:
        """The leaves being timed."""
        return self.leaves

    def with_readings(self, items: tuple[ProposedReading, ...]) -> ReadingsQuestion:
        """The same leaves with other readings."""
        return self.model_copy(update={"items": items})


def _needs_affirm(item: ProposedReading) -> bool:
    doubtful = item.doubt is not None or item.rival is not None or item.second_ear == "chosen"
    return doubtful or item.quantity in SETS_LIMIT or item.taken is Taken.SENSOR


def _spoken(w: Wording, items: tuple[ProposedReading, ...]) -> str:
    """Readings as they are read back; the times of one run share their leaf and unit."""
    if items[0].taken not in (Taken.BY_EAR, Taken.SENSOR):
        return " ".join(_spoken_reading(w, item) for item in items)
    leaves = dict.fromkeys(item.subjects[0] for item in items)
    return " ".join(_spoken_run(w, [i for i in items if i.subjects[0] is leaf]) for leaf in leaves)


def _energies(turn: Turn, items: tuple[ProposedReading, ...]) -> list[str]:
    """'Largest energy: opening two point zero two, closing ...', if a sensor measured it."""
    w = turn.words
    limit = turn.state.limits.limit.energy
    unit = Unit.JOULE if turn.job.sheet.units == "metric" else limit.unit
    found: dict[Quantity, Decimal] = {}
    for item in items:
        side = leaf_side(item.subjects[0])
        leaf = turn.job.opening.leaf(side) if side is not None else None
        energy = energy_at(leaf, item.largest_speed) if leaf and item.largest_speed else None
        if energy is not None:
            value = convert(Decimal(repr(energy[0])), Unit.JOULE, unit).quantize(Decimal("0.01"))
            found[item.quantity] = max(value, found.get(item.quantity, value))
    if not found:
        return []
    energies = ", ".join(f"{w.say(WAYS[of])} {w.number(value)}" for of, value in found.items())
    return [w.say("measured_energies", energies=energies, unit=w.units(unit))]


def _spoken_reading(w: Wording, item: ProposedReading) -> str:
    spelled = item.rival is not None
    spoken = sentences.readback(w, item.subjects, item.quantity, item.measure, spelled=spelled)
    match item.doubt:
        case "value":
            return w.say("doubtful", reading=spoken)
        case "unit":
            return w.say("unit_doubtful", reading=spoken, unit=w.units(item.unit))
        case "rival" if item.rival is not None:
            one, other = item.rival.one, item.rival.other
            if not one:
                one, other = (w.number(x, spelled=True) for x in (item.value, item.rival.value))
            return w.say("rival_doubtful", reading=spoken, one=one.capitalize(), other=other)
        case _:
            return spoken


def _spoken_run(w: Wording, items: list[ProposedReading]) -> str:
    """The times and angles of one leaf; for several cycles the range from least to largest."""
    values: dict[Unit, dict[Quantity, list[Decimal]]] = {}
    for item in items:
        values.setdefault(item.unit, {}).setdefault(item.quantity, []).append(item.value)
    cycles = max(len(found) for of_unit in values.values() for found in of_unit.values())
    leaf = w.subject(items[0].subjects[0])
    if cycles > 1:
        leaf = w.say("of_cycles", leaf=leaf, count=cycles)
    parts = [leaf]
    for unit, of_unit in values.items():
        parts += (f"{w.quantity(of)} {_range(w, found)}" for of, found in of_unit.items())
        parts.append(w.units(unit))
    return sentence(", ".join(parts))


def _range(w: Wording, values: list[Decimal]) -> str:
    least, largest = min(values), max(values)
    if least == largest:
        return w.number(least)
    return w.say("from_to", least=w.number(least), largest=w.number(largest))
