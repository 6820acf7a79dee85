"""Measures the second pass for an expected reading: what it gains, and its false accepts.

    python -m tests.bench.second_pass ../shared/speech-train --readings --grid

Readings are spoken as by a technician, once while that quantity is expected and once while another
one is. Chat, other people's speech and other answers are played while a reading is expected. Only a
usual value with the name of its quantity is accepted.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable
from decimal import Decimal
from random import Random

from handsfree.dialogue.answer_set import ExpectedReading
from handsfree.job.quantity import Quantity
from handsfree.job.reading import Subject
from handsfree.job.unit import Unit
from handsfree.language.interpreter import Language
from handsfree.language.meaning import ReadingSaid
from handsfree.recognition.constrained_retry import LONGEST_READING_S
from handsfree.recognition.grammar_model import recognizer_for
from handsfree.recognition.graph_compiler import Costs
from handsfree.recognition.recognizer import VoskRecognizer
from handsfree.recognition.speech_model import SpeechModel
from handsfree.rehearsal.phrasing import IntendedReading, digit_by_digit, reading
from handsfree.sample_rate import SAMPLE_RATE_HZ
from handsfree.timing.cycle import SPANS

from .listening_material import Sample, Sound, in_noise, read_aloud

SCALE = (Decimal(1), Decimal(40), Decimal(1))
"""Scale of an invented controller, as in a rehearsal: lowest, highest, step."""
QUANTITIES = {
    Quantity.OPENING_TIME: (Unit.SECOND, 300, 900, 2),
    Quantity.CLOSING_TIME: (Unit.SECOND, 30, 90, 1),
    Quantity.HOLD_OPEN_TIME: (Unit.SECOND, 40, 90, 1),
    Quantity.OPENING_SPEED: (Unit.STEP, 1, 40, 0),
    Quantity.LATCHING_SPEED: (Unit.STEP, 1, 40, 0),
    Quantity.HOLD_OPEN_SETTING: (Unit.STEP, 1, 40, 0),
    Quantity.OPENING_FORCE: (Unit.POUND_FORCE, 10, 30, 1),
    Quantity.RELEASE_FORCE: (Unit.NEWTON, 20, 90, 0),
    Quantity.LEAF_WIDTH: (Unit.INCH, 30, 48, 0),
    Quantity.BACKCHECK_ANGLE: (Unit.DEGREE, 60, 90, 0),
}
"""Unit and range of the values drawn for each quantity: lowest, highest, number of decimals."""


def step_asking_for(quantity: Quantity) -> ExpectedReading:
    """Returns a step that asks for the quantity, on the left leaf."""
    unit = QUANTITIES[quantity][0]
    scale = SCALE if unit is Unit.STEP else None
    return ExpectedReading(
        quantity=quantity,
        subject=Subject.LEFT_LEAF,
        unit=unit,
        scale=scale,
        by_ear=quantity in SPANS,
    )


def said(most: int) -> list[tuple[Quantity, str]]:
    """Lists spoken readings with the name of the quantity, in full and digit by digit. For a time,
    the start of the clock is among them.
    """
    rng = Random(4)
    found = []
    for quantity, (unit, low, high, decimals) in QUANTITIES.items():
        for nth in range(most // len(QUANTITIES)):
            value = Decimal(rng.randint(low, high)).scaleb(-decimals)
            meant = IntendedReading(
                quantity=quantity, subject=Subject.LEFT_LEAF, value=value, unit=unit
            )
            context = ("quantity", "quantity", "full", "digits")[nth % 4]
            by_digits = context == "digits"
            text = digit_by_digit(meant) if by_digits else reading(meant, rng, context=context)
            found.append((quantity, text))
    starts = ("start the clock", "start the clock left leaf")
    return [*found, *((Quantity.OPENING_TIME, text) for text in starts)]


class Taken:
    """Counts at one level: all, recognized at first, recognized in the end at each cost."""

    def __init__(self) -> None:
        self.count = self.first = 0
        self.end: dict[Costs, int] = defaultdict(int)

    def shown(self, costs: Costs | None) -> str:
        """Returns a count such as '31 of 60'."""
        return f"{self.first if costs is None else self.end[costs]} of {self.count}"


Rows = dict[str, dict[float | None, Taken]]


class ReadingEars:
    """Decodes with the whole grammar; without a sentence, with one quantity at each cost."""

    def __init__(self, language: Language, costs: tuple[Costs, ...]) -> None:
        self._model, self._language, self._costs = SpeechModel.load(), language, costs
        self._first = VoskRecognizer(self._model, language.automaton())
        self._heard: dict[bytes, object] = {}
        self._open: tuple[Quantity, dict[Costs, VoskRecognizer]] | None = None

    def hear(self, sound: Sound, quantity: Quantity) -> tuple[object, dict[Costs, object]]:
        """Returns what the first pass understands; if nothing, the result at each cost."""
        key = sound.tobytes()
        if key not in self._heard:
            self._heard[key] = self._language.parse(self._first.recognize(sound).text)
        first = self._heard[key]
        return first, self._again(sound, quantity) if first is None else {}

    def _again(self, sound: Sound, quantity: Quantity) -> dict[Costs, object]:
        if len(sound) > LONGEST_READING_S * SAMPLE_RATE_HZ:
            return dict.fromkeys(self._costs)
        if self._open is None or self._open[0] is not quantity:
            automaton = self._language.reading_automaton(quantity)
            ears = {each: recognizer_for(self._model, automaton, each) for each in self._costs}
            self._open = (quantity, ears)
        return {
            each: self._language.parse(ears.recognize(sound).text)
            for each, ears in self._open[1].items()
        }


def readings(
    ears: ReadingEars,
    language: Language,
    voices: Iterable[str],
    most: int,
    levels: tuple[float | None, ...],
    noise: list[Sound],
) -> Rows:
    """Counts readings while they are expected, and while another quantity is."""
    rows: Rows = defaultdict(lambda: defaultdict(Taken))
    others = dict(zip(QUANTITIES, [*list(QUANTITIES)[3:], *list(QUANTITIES)[:3]], strict=True))
    for voice in voices:
        drawn = said(most)
        samples = read_aloud(voice, [text for _, text in drawn])
        for (quantity, text), sample in zip(drawn, samples, strict=True):
            meant, waits = language.parse(text), step_asking_for(quantity)
            for level in levels:
                sound = in_noise(sample, level, noise)
                first, again = ears.hear(sound, quantity)
                _count(rows[f"right, {voice}"][level], first, again, lambda h, m=meant: h == m)
                _count(
                    rows[f"another reading, {voice}"][level],
                    *(first, again),
                    lambda h, m=meant, w=waits: w.fits(h) and h != m,
                )
        for (quantity, _), sample in zip(drawn, samples, strict=True):
            waits = step_asking_for(others[quantity])
            for level in levels:
                first, again = ears.hear(in_noise(sample, level, noise), waits.quantity)
                _count(
                    rows[f"taken for another quantity, {voice}"][level], first, again, waits.fits
                )
    return rows


def others(
    ears: ReadingEars,
    samples: list[Sample],
    name: str,
    levels: tuple[float | None, ...],
    noise: list[Sound],
) -> Rows:
    """Counts what is not a reading but is taken for one, while either of two quantities is
    expected.
    """
    rows: Rows = defaultdict(lambda: defaultdict(Taken))
    waited = (Quantity.OPENING_TIME, Quantity.OPENING_SPEED)
    for quantity in waited:
        for sample in samples:
            for level in levels:
                sound = in_noise(sample, level, noise)
                first, again = ears.hear(sound, quantity)
                _count(rows[f"{name} taken for a reading"][level], first, again, _is_reading)
                row = rows[f"{name} taken for the expected one"][level]
                _count(row, first, again, step_asking_for(quantity).fits)
    return rows


def _is_reading(heard: object) -> bool:
    return isinstance(heard, ReadingSaid)


def _count(
    row: Taken, first: object, again: dict[Costs, object], counts: Callable[[object], bool]
) -> None:
    row.count += 1
    row.first += bool(counts(first))
    for costs, heard in again.items():
        row.end[costs] += bool(counts(heard))


def show(rows: Rows, costs: tuple[Costs, ...], levels: tuple[float | None, ...]) -> None:
    """Formats one line for the first pass of each row, and one for what each cost adds."""
    for title, by_level in rows.items():
        for each in (None, *costs):
            name = "at first" if each is None else f"{each.other_speech:g}, {each.other_phone:g}"
            cells = "".join(f"{by_level[level].shown(each):>16}" for level in levels)
            print(f"{title[:58]:58} {name:>9}{cells}", flush=True)
