"""Measures a long visit: memory, the audio clock, and the cost of a turn after thousands of events.

    python -m tests.bench.soak --hours 8
    python -m tests.bench.soak --hours 0 --utterances 5000

Hours of sound go through the microphone's own code (the conversion from 44.1 kHz to 16 kHz, the cut
into utterances, the recognizer, the conversation, the journal) as fast as possible: somebody
speaks, then nobody does for a while. Then a visit is typed, turn by turn.
"""

from __future__ import annotations

import argparse
import json
import tempfile
import time
from collections.abc import Iterator
from dataclasses import replace
from itertools import repeat
from pathlib import Path
from statistics import median

import numpy as np
import soxr

from handsfree.audio import devices
from handsfree.audio.capture import MicrophoneCapture
from handsfree.audio.devices import Device
from handsfree.checks.limits import load_limits
from handsfree.clock import FakeClock
from handsfree.journal import events as ev
from handsfree.journal.reader import read, verify
from handsfree.journal.writer import Journal
from handsfree.language.interpreter import Language
from handsfree.procedure.loader import parse_procedure
from handsfree.recognition.ears import FakeEars
from handsfree.recognition.microphone_ears import MicrophoneEars
from handsfree.recognition.port import EarEvent, Utterance
from handsfree.recognition.recognizer import VoskRecognizer
from handsfree.recognition.speech_model import SpeechModel
from handsfree.synthesis.mouth import SilentMouth
from handsfree.visit.resume import first_state, opening_event
from handsfree.visit.session import Visit
from tests.air import flite
from tests.bench.circumstances import circumstances
from tests.talk import PROCEDURE, SHEET

RATE = 44_100
BLOCK = RATE // 10
SAID = ("where am i", "left leaf opening time six point two seconds", "negative", "say again")
GAPS_S = (3.0, 5.0, 20.0, 90.0, 300.0)
SMALL = parse_procedure(PROCEDURE, "small.toml", "0" * 64)


class Fed(MicrophoneCapture):
    """The microphone's own code with blocks from the bench instead of a device."""

    def __init__(self, sound: Iterator[np.ndarray]) -> None:
        self._sound = sound
        super().__init__()

    def read(self, wait_s: float):
        block = next(self._sound, None)
        if block is None:
            self.ended = True
            return None
        self._raw.put((block, False))
        return super().read(wait_s)

    def _open(self) -> None:
        self._device = Device(name="bench", host="bench", rate=RATE, microphone=1, loudspeaker=0)
        self._rate, self._generation = RATE, devices.generation()
        self._resampler = soxr.ResampleStream(RATE, 16_000, 1, dtype="int16")


def talking(hours: float, begun_s: list[float]) -> Iterator[np.ndarray]:
    """Yields blocks of a room with a talker; adds the start of each utterance to ``begun_s``."""
    rng = np.random.default_rng(1)
    room = rng.normal(0, 15, 60 * RATE)
    texts = [soxr.resample(flite(text).astype(np.float64), 16_000, RATE) for text in SAID]
    at, end, nth = 0, round(hours * 3600 * RATE), 0
    while at < end:
        silent = round(GAPS_S[nth % len(GAPS_S)] * RATE) // BLOCK
        begun_s.append((at + silent * BLOCK) / RATE)
        said = texts[nth % len(texts)]
        spoken = np.concatenate((said, np.zeros(-len(said) % BLOCK + RATE)))
        blocks = spoken[: len(spoken) // BLOCK * BLOCK].reshape(-1, BLOCK)
        # Silence is made block by block, or the bench would hold more than what it measures.
        for block in (*repeat(np.zeros(BLOCK), silent), *blocks):
            shift = int(rng.integers(0, len(room) - BLOCK))
            yield np.rint(block + room[shift : shift + BLOCK]).astype(np.int16)
        at += (silent + len(blocks)) * BLOCK
        nth += 1


def resident_mb() -> float:
    """Returns the resident memory of this process (MB)."""
    status = Path("/proc/self/status").read_text(encoding="utf-8")
    return int(status.split("VmRSS:")[1].split()[0]) / 1024


def visit_of(folder: Path, ears, watch=lambda event: None, keep: str = "all") -> Visit:
    return Visit(
        Journal.create(folder), first_state(SHEET, SMALL, load_limits("a156.19")),
        language=Language.load(), ears=ears, mouth=SilentMouth("bench"), clock=FakeClock(),
        watch=watch, keep_clips=keep,
    )  # fmt: skip


def soak(hours: float) -> dict[str, object]:
    """Processes hours of sound as fast as possible."""
    begun_s: list[float] = []
    offsets: list[tuple[float, float]] = []
    memory: list[tuple[float, float]] = []
    started = time.monotonic()

    def watch(event: ev.Event) -> None:
        if isinstance(event.body, ev.Heard) and event.body.start_s is not None:
            start_s = float(event.body.start_s)
            inserted_s = min(begun_s, key=lambda s: abs(s - 0.5 - start_s))
            offsets.append((start_s / 3600, start_s - inserted_s))
            memory.append((start_s / 3600, resident_mb()))

    with tempfile.TemporaryDirectory() as folder:
        recognizer = VoskRecognizer(SpeechModel.load(), Language.load().automaton())
        ears = MicrophoneEars(Fed(talking(hours, begun_s)), recognizer, quiet_at_s=(4.0, 30.0))
        visit = visit_of(Path(folder) / "visit", ears, watch)
        shell = {"model": "bench", "ears": "bench", "mouth": "bench", "controller": ""}
        visit.open(opening_event(SHEET, SMALL, load_limits("a156.19"), **shell))
        visit.run()
        whole = verify(Path(folder) / "visit")
    settled = [(at, mb) for at, mb in memory if at >= min(1.0, hours / 4)]
    return {
        "hours": hours,
        "took_s": round(time.monotonic() - started),
        "said": len(begun_s),
        "heard": len(offsets),
        "journal_whole": whole.whole,
        "events": whole.lines,
        "resident_mb": {"first": round(memory[0][1], 1), "last": round(memory[-1][1], 1)},
        "resident_slope_mb_per_h": round(float(np.polyfit(*zip(*settled, strict=True), 1)[0]), 3),
        "clock_drift_ms_per_h": round(
            1000 * float(np.polyfit(*zip(*offsets, strict=True), 1)[0]), 3
        ),
        "clock_scatter_ms": round(1000 * float(np.std([offset for _, offset in offsets])), 1),
    }


def turns(count: int) -> dict[str, object]:
    """Types ``count`` utterances and returns the cost of a turn at the beginning and at the end."""
    lines = (
        "left leaf opening time six point two seconds",
        "affirm",
        "where am i",
        "withdraw that",
    )
    heard: list[EarEvent] = [Utterance(text) for text in lines] * (count // len(lines))
    took: list[float] = []
    with tempfile.TemporaryDirectory() as folder:
        visit = visit_of(Path(folder) / "visit", FakeEars([]))
        shell = {"model": "bench", "ears": "bench", "mouth": "bench", "controller": ""}
        visit.open(opening_event(SHEET, SMALL, load_limits("a156.19"), **shell))
        for utterance in heard:
            assert isinstance(utterance, Utterance)
            before = time.thread_time()
            visit.hear(replace(utterance))
            took.append(time.thread_time() - before)
        began = time.thread_time()
        events = read(Path(folder) / "visit")
        reading_s = time.thread_time() - began
    tenth = max(4, len(took) // 10)
    return {
        "utterances": len(took),
        "events": len(events),
        "turn_ms_first_tenth": round(1000 * median(took[:tenth]), 2),
        "turn_ms_last_tenth": round(1000 * median(took[-tenth:]), 2),
        "read_s_per_10000_events": round(reading_s * 10_000 / len(events), 3),
    }


def main() -> None:
    """Measures and prints one JSON object."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--hours", type=float, default=8.0, help="hours of sound; 0 for none")
    parser.add_argument("--utterances", type=int, default=5000, help="typed turns; 0 for none")
    asked = parser.parse_args()
    result: dict[str, object] = {"circumstances": circumstances()}
    if asked.utterances:
        result["turns"] = turns(asked.utterances)
    if asked.hours:
        result["sound"] = soak(asked.hours)
    print(json.dumps(result, indent=2))


if __name__ == "__main__":
    main()
