"""Makes a visit of one hour: real conversation, real journal, real sound.

The lines are those of the recorded visit, with talk of passers-by, questions, notes and additional
timed runs in between; the clips are pieces of its recording, each as long as its words. The same
seed gives the same visit.

python -m tests.reports.hour FOLDER
"""

from __future__ import annotations

import re
import sys
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import soundfile
from numpy.typing import NDArray

from handsfree.checks.limits import load_limits
from handsfree.data import data_folder
from handsfree.job_file.loader import parse_sheet
from handsfree.journal.writer import Journal
from handsfree.language.interpreter import Language
from handsfree.procedure.loader import load_procedure
from handsfree.recognition.cycle_listener import CycleRun
from handsfree.recognition.port import Utterance
from handsfree.synthesis.mouth import SilentMouth
from handsfree.timing.mark import Mark
from handsfree.visit.resume import first_state, opening_event
from handsfree.visit.session import Visit

from ..script import script_lines

RATE = 16000
BEGAN = datetime(2100, 3, 4, 9, 15, tzinfo=UTC).timestamp()
FIXTURES = data_folder("audio_fixtures")
CHATTER = (
    "excuse me is this the way to the swimming pool",
    "could you hold that for a moment please",
    "they said the lift is out of order again today",
    "no idea ask at the desk",
)
QUESTIONS = ("read back left leaf", "what is the limit", "where am i", "what is left", "why")
NOTES = (
    "the arm on the left leaf has play at the pivot and somebody has put a washer under it that "
    "does not belong there so it wants a new pivot at the next visit",
    "the owner says that the door was hit by a cart in the winter and the frame was never set "
    "straight again which fits the marks at the threshold",
)


class _Clock:
    """The time of day of a visit that goes by its utterances."""

    def __init__(self) -> None:
        self.now_s = 0.0

    def utc(self) -> datetime:
        return datetime.fromtimestamp(BEGAN + self.now_s, UTC)

    def rising_s(self) -> float:
        return self.now_s

    def slept_s(self) -> float:
        return 0.0


class _Ears:
    """Delivers the lines in order, each with its piece of the recording."""

    can_time = True
    reports_silence = False

    def __init__(self, lines: list[str], clock: _Clock, minutes: float, seed: int) -> None:
        self._lines = iter(lines)
        self._clock = clock
        self._apart_s = minutes * 60 / sum(not line.startswith("clock ") for line in lines)
        self._sound, _ = soundfile.read(FIXTURES / "harbour-hall.flac", dtype="int16")
        self._rng = np.random.default_rng(seed)
        self._count = 0

    def listen(self) -> Utterance | None:
        line = next(self._lines, None)
        if line is None:
            return None
        self._count += 1
        seconds = 0.6 + 0.34 * len(line.split())
        start_s = max(self._count * self._apart_s, self._clock.now_s + 0.2)
        self._clock.now_s = start_s + seconds
        return Utterance(line, (), start_s, start_s + seconds, self._piece(seconds))

    def time(self, expected: int, least_rms: float) -> CycleRun:
        line = next(self._lines)
        at_s = [1.0 + float(second) for second in re.findall(r"\d+\.?\d*", line)]
        samples = self._rng.normal(0, 60, round((at_s[-1] + 1.5) * RATE)).astype(np.int16)
        for second in at_s:
            word = self._piece(0.35)
            samples[round(second * RATE) :][: len(word)] += word
        start_s = self._clock.now_s
        self._clock.now_s += len(samples) / RATE
        marks = tuple(
            Mark(
                sample=round(second * RATE),
                end_sample=round((second + 0.3) * RATE),
                snr_db=28.0,
                level_db=-21.0,
                uncertainty_s=0.02,
            )
            for second in at_s
        )
        return CycleRun(marks, (), samples, start_s=start_s, end_s=self._clock.now_s)

    def _piece(self, seconds: float) -> NDArray[np.int16]:
        count = round(seconds * RATE)
        start = int(self._rng.integers(0, len(self._sound) - count))
        return self._sound[start : start + count].copy()


def hour_visit(
    folder: Path,
    *,
    minutes: float = 60,
    busy: float = 1.0,
    seed: int = 417,
    lines: list[str] | None = None,
) -> Path:
    """Makes such a visit in ``folder``.

    ``busy`` is the amount of talk in addition to the readings; ``lines`` replaces the default
    lines.
    """
    sheet = parse_sheet(
        (FIXTURES / "harbour-hall.job.toml").read_text(encoding="utf-8"), "harbour-hall.job.toml"
    )
    limits = load_limits(sheet.limits)
    procedure = load_procedure("controller-replaced-pair")
    clock = _Clock()
    ears = _Ears(lines or list(_story(seed, busy)), clock, minutes, seed)
    with Journal.create(folder) as journal:
        visit = Visit(
            journal,
            first_state(sheet, procedure, limits, times_by_ear=True),
            language=Language.load(),
            ears=ears,
            mouth=SilentMouth("a test"),
            clock=clock,
            tones=False,
        )
        visit.open(
            opening_event(sheet, procedure, limits, model="test", ears="test", mouth="silent")
        )
        visit.run()
    return folder


def _story(seed: int, busy: float) -> Iterator[str]:
    """The lines of the visit in order; a line 'clock ...' gives the marks of a run."""
    rng = np.random.default_rng(seed)
    for said in plain_lines():
        yield said
        if said != "affirm":
            continue
        for others, share in ((CHATTER, 0.9), (QUESTIONS, 0.55)):
            if rng.random() < share * busy:
                yield others[int(rng.integers(len(others)))]
        if rng.random() < 0.12 * busy:
            yield "note"
            yield NOTES[int(rng.integers(len(NOTES)))]


def plain_lines() -> list[str]:
    """The lines of the recorded visit without the speakers' names."""
    lines = script_lines()
    return [line if line.startswith("clock ") else line.split(": ", 1)[1] for line in lines]


if __name__ == "__main__":
    print(hour_visit(Path(sys.argv[1])))
