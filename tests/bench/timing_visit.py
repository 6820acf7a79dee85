"""Measures whole runs of the clock, including words: the listener of a visit with the shipped
model.

    python -m tests.bench.timing_visit --json timing_visit.json

A held-out voice says the six words of a cycle (or of both leaves, 'left go', 'right go'), in quiet
and in real noises; the listener hears marks and words as in a visit. A run is whole if the
conversation would read times back (by_order: of these, the runs in which it says that a word was
not understood), and wrong if one of these times is more than 0.3 s off.
"""

from __future__ import annotations

import argparse
import csv
import json
import os
import sys
from pathlib import Path

import numpy as np

from handsfree.audio.sound_files import read_sound
from handsfree.job.reading import LEAF_SUBJECTS, Subject
from handsfree.language.interpreter import Language
from handsfree.recognition.cycle_listener import CycleListener, CycleRun, mark_recognizer
from handsfree.recognition.speech_model import SpeechModel
from handsfree.sample_rate import SAMPLE_RATE_HZ
from handsfree.timing.cycle import MOMENTS, NEAR_S, SPANS, WORDS, cycle_of
from handsfree.timing.mark import MIN_GAP_S, VOICE_SHARE
from handsfree.timing.pair_cycle import pair_cycle_of
from handsfree.training.marks import kept_apart
from tests.bench.listening_material import (
    VOICE_RMS,
    VOICES,
    Sound,
    level_name,
    noises,
    spoken,
    why_missing,
)
from tests.bench.timing import DATA, LEVELS_DB, Row
from tests.bench.timing_material import KnownMark, phrase_mark, stream

WRONG_S = 0.3
NAMES = dict(zip(LEAF_SUBJECTS, ("left", "right"), strict=True))


def one_leaf(voice: str) -> list[tuple[Subject, str, KnownMark]]:
    """Returns the six words in order, of one leaf."""
    return [(Subject.LEFT_LEAF, word, _mark(voice, word)) for word in WORDS]


def both_leaves(voice: str) -> list[tuple[Subject, str, KnownMark]]:
    """Returns twelve marks; at each moment the right leaf follows the left one."""
    return [
        (leaf, word, _mark(voice, f"{NAMES[leaf]} {word}"))
        for word in WORDS
        for leaf in LEAF_SUBJECTS
    ]


def _mark(voice: str, text: str) -> KnownMark:
    return phrase_mark(spoken(voice, text))


def noises_to_tune_on(data: Path) -> list[Sound]:
    """Lists the noises that the nets were not trained on."""
    with (data / "manifest.csv").open(encoding="utf-8") as file:
        paths = [row["path"] for row in csv.DictReader(file) if row["kind"] == "noise"]
    return [read_sound(data / path).astype(np.float64) for path in paths if kept_apart(path)]


def main() -> None:
    """Prints a row for each kind of run and level."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n\n")[0])
    parser.add_argument("--runs", type=int, default=24, help="runs in each row")
    parser.add_argument("--data", type=Path, default=DATA, help="folder of recordings")
    parser.add_argument("--tuning", type=Path, help="use this folder of tuning material instead")
    parser.add_argument("--json", type=Path)
    options = parser.parse_args()
    data = options.tuning or options.data
    if not (data / "manifest.csv").is_file():
        sys.exit(f"no recordings at {data}: name their folder in HANDSFREE_SPEECH_DATA")
    noise = noises_to_tune_on(data) if options.tuning else noises(data)
    roles = ("training", "development") if options.tuning else ("held-out",)
    voices = [voice for role in roles for voice in VOICES[role] if why_missing(voice) is None]
    language = Language.load()
    recognizer = mark_recognizer(SpeechModel.load(), language.automaton("mark"), language.mark)
    rows: list[Row] = []
    for name, said in (("one leaf", one_leaf), ("both leaves together", both_leaves)):
        scripts = [said(voice) for voice in voices]
        for level_db in LEVELS_DB:
            rng = np.random.default_rng(14)
            counts = dict.fromkeys(
                ("whole", "by_order", "wrong", "words", "words_right", "spoken"), 0
            )
            errors: list[float] = []
            for nth in range(options.runs):
                script = scripts[nth % len(scripts)]
                sound, beats = stream(
                    [mark for _, _, mark in script], level_db, noise[nth % len(noise)], rng
                )
                listener = CycleListener(
                    recognizer, language.mark, len(script), VOICE_SHARE * VOICE_RMS / 32768
                )
                samples = sound.astype(np.int16)
                for first in range(0, len(samples), 320):
                    listener.feed(samples[first : first + 320])
                _judge(listener.finish(), script, beats, counts, errors)
            row: Row = {
                "run": name,
                "level": level_name(level_db),
                "runs": options.runs,
                "whole": counts["whole"],
                "by_order": counts["by_order"],
                "wrong": counts["wrong"],
                "words_right_percent": round(100 * counts["words_right"] / max(1, counts["words"])),
                "spoken_percent": round(100 * counts["spoken"] / max(1, counts["words"])),
                "time_sd_ms": round(1000 * float(np.std(errors)), 1) if errors else "",
                "time_worst_ms": round(1000 * float(np.max(np.abs(errors)))) if errors else "",
            }
            rows.append(row)
            print(" | ".join(str(value) for value in row.values()), flush=True)
    if options.json:
        options.json.write_text(json.dumps(rows, indent=1) + "\n", encoding="utf-8")


def _judge(
    run: CycleRun,
    script: list[tuple[Subject, str, KnownMark]],
    beats: list[int],
    counts: dict[str, int],
    errors: list[float],
) -> None:
    at_s = {
        (leaf, WORDS[word]): beat / SAMPLE_RATE_HZ
        for (leaf, word, _), beat in zip(script, beats, strict=True)
    }
    counts["words"] += len(script)
    for leaf, word, _ in script:
        near = [each for each in run.labels if abs(each.start_s - at_s[leaf, WORDS[word]]) < 0.5]
        named = {(each.leaf or leaf, each.word) for each in near}
        counts["words_right"] += named == {(leaf, word)}
        counts["spoken"] += any(
            mark.spoken and abs(mark.at_s - at_s[leaf, WORDS[word]]) < NEAR_S for mark in run.marks
        )
    if len(script) == len(MOMENTS):
        cycles = {Subject.LEFT_LEAF: cycle_of(run.marks, run.labels)}
        problems = cycles[Subject.LEFT_LEAF].problems
    else:
        pair = pair_cycle_of(run.marks, run.labels, MIN_GAP_S)
        cycles, problems = dict(pair.cycles), pair.all_problems
    if any(problem.kind != "misheard" for problem in problems):
        return
    counts["whole"] += 1
    counts["by_order"] += bool(problems)
    off = [
        each.seconds - (at_s[leaf, SPANS[each.quantity][1]] - at_s[leaf, SPANS[each.quantity][0]])
        for leaf, cycle in cycles.items()
        for each in cycle.intervals
    ]
    counts["wrong"] += max(map(abs, off)) > WRONG_S
    errors += [each for each in off if abs(each) <= WRONG_S]


if __name__ == "__main__":
    os.environ.setdefault("OMP_NUM_THREADS", "1")
    main()
