"""Measures how well marks are found and timed: people's words, synthetic words and taps, in noise.

    python -m tests.bench.timing --json timing.json

Six marks have their beats at known samples of a stream, in the noise of a quiet room or in a real
noise at the stated level; the detector gets it in blocks of 20 ms. Recordings come from
../shared/speech or the folder that --data or HANDSFREE_SPEECH_DATA names.
"""

from __future__ import annotations

import argparse
import json
import os
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np

from handsfree.language.interpreter import Language
from handsfree.recognition.mark_recognizer import MarkRecognizer, cues_at
from handsfree.recognition.speech_model import SpeechModel
from handsfree.sample_rate import SAMPLE_RATE_HZ
from handsfree.timing.cycle import WORDS
from handsfree.timing.mark import VOICE_SHARE, Mark
from handsfree.timing.onset_detector import OnsetDetector
from tests.bench.listening_material import (
    VOICE_RMS,
    VOICES,
    Sound,
    level_name,
    noises,
    recordings,
    spoken,
    why_missing,
)
from tests.bench.timing_material import (
    MARKS,
    KnownMark,
    noise_alone,
    stream,
    tap_mark,
    word_mark,
)

ROOT = Path(__file__).parents[2]
DATA = Path(os.environ.get("HANDSFREE_SPEECH_DATA", ROOT.parent / "shared" / "speech"))
LEVELS_DB: tuple[float | None, ...] = (None, 20.0, 10.0)
NEAR_S = 0.25
"""Largest distance at which a reported mark counts as found (s)."""
BLOCK = 320

Draw = Callable[[np.random.Generator], KnownMark]
Row = dict[str, float | int | str]


def marks_in(sound: Sound, least_rms: float) -> list[Mark]:
    """Returns the marks that the detector finds in a stream (of 32768), given in blocks."""
    detector = OnsetDetector(least_rms=least_rms)
    samples = sound.astype(np.int16)
    found = [
        mark
        for first in range(0, len(samples), BLOCK)
        for mark in detector.feed(samples[first : first + BLOCK])
    ]
    return [*found, *detector.finish()]


def measured(draw: Draw, level_db: float | None, noise: list[Sound], streams: int) -> Row:
    """Measures the errors of marks, and of the intervals between neighbors, over many streams."""
    rng = np.random.default_rng(12)
    errors: list[float] = []
    intervals: list[tuple[float, float]] = []
    lags: list[float] = []
    extra = 0
    for nth in range(streams):
        known = [draw(rng) for _ in range(MARKS)]
        sound, beats = stream(known, level_db, noise[nth % len(noise)], rng)
        lags += [(mark.beat - mark.start) / SAMPLE_RATE_HZ for mark in known]
        given = marks_in(sound, VOICE_SHARE * VOICE_RMS / 32768)
        extra += len(given)
        before: tuple[float, float] | None = None
        for beat in beats:
            near = min(given, key=lambda mark, at=beat: abs(mark.sample - at), default=None)
            if near is None or abs(near.sample - beat) > NEAR_S * SAMPLE_RATE_HZ:
                before = None
                continue
            extra -= 1
            error = (near.sample - beat) / SAMPLE_RATE_HZ
            errors.append(error)
            if before is not None:
                stated = float(np.hypot(near.uncertainty_s, before[1]))
                intervals.append((error - before[0], stated))
            before = error, near.uncertainty_s
    off, stated_s = np.array(intervals).T
    return {
        "marks": MARKS * streams,
        "found_percent": round(100 * len(errors) / (MARKS * streams), 1),
        "extra": extra,
        "mark_mean_ms": round(1000 * float(np.mean(errors)), 1),
        "mark_sd_ms": round(1000 * float(np.std(errors)), 1),
        "interval_sd_ms": round(1000 * float(np.std(off)), 1),
        "interval_p95_ms": round(1000 * float(np.quantile(np.abs(off), 0.95)), 1),
        "interval_worst_ms": round(1000 * float(np.max(np.abs(off))), 1),
        "covered_percent": round(100 * float(np.mean(np.abs(off) <= 1.96 * stated_s)), 1),
        "start_to_beat_ms": round(1000 * float(np.mean(lags))),
        "start_to_beat_sd_ms": round(1000 * float(np.std(lags))),
        "stated_u_ms": round(1000 * float(np.median(stated_s)), 1),
    }


def false_marks(
    level_db: float, noise: list[Sound], least_rms: float, recognizer: MarkRecognizer
) -> Row:
    """Counts the marks in the noises alone, and those that could be words of a run."""
    rng = np.random.default_rng(13)
    count = spoken = 0
    for each in noise:
        sound = noise_alone(each, level_db, rng)
        marks = marks_in(sound, least_rms)
        heard = cues_at(recognizer, sound.astype(np.int16), marks, by_leaf=False)
        count += len(marks)
        spoken += sum(bool(mark.spoken) for mark, _ in heard)
    seconds = sum(map(len, noise)) / SAMPLE_RATE_HZ
    return {
        "seconds": round(seconds),
        "marks": count,
        "in_ten_minutes": round(600 * count / seconds, 1),
        "spoken": spoken,
        "spoken_in_ten_minutes": round(600 * spoken / seconds, 1),
    }


def speed() -> str:
    """Measures the time for a minute of noise, in blocks of 20 ms."""
    sound = np.random.default_rng(1).normal(0, 100, 60 * SAMPLE_RATE_HZ)
    wall_s, cpu_s = time.perf_counter(), time.process_time()
    marks_in(sound, 0.0)
    wall_s, cpu_s = time.perf_counter() - wall_s, time.process_time() - cpu_s
    return f"a minute of sound: {wall_s:.1f} s, {cpu_s:.1f} s of processor time"


def sources(data: Path) -> Iterator[tuple[str, Draw]]:
    """Returns the sources of marks, by name."""
    people = [sample.sound for sample in recordings(data, "words")]
    voices = [voice for voice in VOICES["held-out"] if why_missing(voice) is None]
    synthetic = [
        np.concatenate((np.zeros(1600), spoken(voice, word), np.zeros(1600)))
        for voice in voices
        for word in WORDS
    ]
    for name, sounds in (("people's words", people), ("synthetic words", synthetic)):
        marks = [mark for sound in sounds if (mark := word_mark(sound)) is not None]
        if marks:
            yield (
                f"{name} ({len(marks)})",
                lambda rng, marks=marks: marks[int(rng.integers(len(marks)))],
            )
    yield "taps", tap_mark


def main() -> None:
    """Prints a table row for each source and level, and writes JSON if asked to."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n\n")[0])
    parser.add_argument("--streams", type=int, default=60, help="streams of six marks in each row")
    parser.add_argument("--data", type=Path, default=DATA, help="folder of recordings")
    parser.add_argument("--speed", action="store_true", help="measure only the speed")
    parser.add_argument("--json", type=Path)
    options = parser.parse_args()
    if options.speed:
        print(speed())
        return
    if not (options.data / "manifest.csv").is_file():
        sys.exit(f"no recordings at {options.data}: name their folder in HANDSFREE_SPEECH_DATA")
    noise = noises(options.data)
    rows: list[Row] = []
    for name, draw in sources(options.data):
        for level_db in LEVELS_DB:
            row: Row = {"source": name, "level": level_name(level_db)}
            row |= measured(draw, level_db, noise, options.streams)
            rows.append(row)
            print(" | ".join(str(value) for value in row.values()), flush=True)
    language = Language.load()
    recognizer = MarkRecognizer(SpeechModel.load(), language.automaton("mark"), language.mark)
    for level_db in (20.0, 10.0):
        for voice, least in (("known", VOICE_SHARE * VOICE_RMS / 32768), ("unknown", 0.0)):
            row = {"source": f"noise alone, voice {voice}", "level": level_name(level_db)}
            row |= false_marks(level_db, noise, least, recognizer)
            rows.append(row)
            print(" | ".join(str(value) for value in row.values()), flush=True)
    if options.json:
        options.json.write_text(json.dumps(rows, indent=1) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
