"""Measures what the second ear adds: wrong values accepted, questions asked, time, memory.

    python -m tests.bench.second_ear CLIPS
    python -m tests.bench.second_ear CLIPS --levels quiet,10 --json second-ear.json
    python -m tests.bench.second_ear CLIPS --texts heard.tsv

CLIPS holds sound files and ``manifest.csv`` with the columns path, text and voice. If it has a
column language, only 'en' is used. The bench uses the clips whose text is a reading of the grammar
with a value that a door can have, each at every level: the tool's own recognizer and the second ear
decode it, and the conversation's own rule compares them. Noises come from ../shared/speech or the
folder that --data names; without them only quiet is measured.

A value is **wrong** if it is accepted with a meaning different from what was said. With the second
ear, a value that leads to a question is not accepted yet: *asked, first right* is a question that
was not needed, *asked, first wrong* one that caught an error, *second right* one that named the
right value. What the first ear does not understand is never accepted, and the second ear is not
asked. Processor time and memory are those of the second ear's process (Linux).
"""

from __future__ import annotations

import argparse
import csv
import json
import os
import sys
import time
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from handsfree.audio.sound_files import read_sound
from handsfree.checks.limits import load_limits
from handsfree.dialogue import second_opinion
from handsfree.dialogue.proposed_reading import ProposedReading
from handsfree.dialogue.questions.readings import ReadingsQuestion
from handsfree.dialogue.state import State
from handsfree.job.job import Job
from handsfree.job.quantity import QUANTITIES, Quantity
from handsfree.job.reading import LEAF_SUBJECTS, Subject, Taken
from handsfree.job.unit import Measure, family_of
from handsfree.language.interpreter import Language
from handsfree.language.meaning import Meaning, ReadingSaid
from handsfree.language.transcript_words import transcript_words
from handsfree.procedure.loader import load_procedure
from handsfree.recognition.recognizer import VoskRecognizer
from handsfree.recognition.speech_model import SpeechModel
from handsfree.second_ear.availability import chosen_weights
from handsfree.second_ear.ear_process import ProcessEar
from handsfree.settings import load_settings
from handsfree.visit_record.progress import Progress

from ..talk import SHEET
from .hearing import DATA
from .listening_material import Sample, Sound, in_noise, level_name, noises
from .score import wilson

LEVELS = ("quiet", "20", "10", "5")
Key = tuple[str, str, str]
"""The first ear's model, the voice, and the level."""


@dataclass
class Row:
    """Counts of the values of one voice at one level."""

    values: int = 0
    first_right: int = 0
    first_wrong: int = 0
    agreed: int = 0
    agreed_wrong: int = 0
    asked_right: int = 0
    asked_wrong: int = 0
    second_right: int = 0
    unclear: int = 0
    unclear_wrong: int = 0
    alone: int = 0
    alone_right: int = 0
    alone_other: int = 0
    cpu_s: list[float] = field(default_factory=list)
    wall_s: list[float] = field(default_factory=list)

    @property
    def still_wrong(self) -> int:
        """Wrong values that lead to no question."""
        return self.agreed_wrong + self.unclear_wrong

    def __add__(self, other: Row) -> Row:
        return Row(*(getattr(self, name) + getattr(other, name) for name in self.__annotations__))


def main() -> None:
    """Prints the table."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n\n")[0])
    parser.add_argument("clips", type=Path)
    parser.add_argument("--levels", default=",".join(LEVELS))
    parser.add_argument("--voices", help="only these voices, separated by commas")
    parser.add_argument("--most", type=int, help="number of clips of each voice, drawn evenly")
    parser.add_argument(
        "--model", type=Path, action="append", help="model of the first ear; repeatable"
    )
    parser.add_argument("--data", type=Path, default=DATA, help="the folder with the noises")
    parser.add_argument("--texts", type=Path, help="add what was said and heard to this table")
    parser.add_argument("--any-value", action="store_true", help="include values that no door has")
    parser.add_argument("--alone", action="store_true", help="include what the first ear missed")
    parser.add_argument(
        "--plain", action="store_true", help="without the words of the trade as a prompt"
    )
    parser.add_argument("--json", type=Path)
    options = parser.parse_args()
    weights = chosen_weights(load_settings().second_ear)
    if weights is None:
        sys.exit("no second ear is installed: see docs/second-ear.md")
    how = ["plain"] if options.plain else []
    ear = ProcessEar(weights.called, str(weights.folder), "en", *how)
    try:
        begun = time.perf_counter()
        ear.wait_until_loaded()
        print(f"{ear.name}: loaded in {time.perf_counter() - begun:.1f} s")
        rows = heard(options, ear)
        memory_mib = status_of(ear.process_id, "VmHWM") / 1024
    finally:
        ear.close()
    print(table(rows))
    pooled = sum(rows.values(), Row())
    if pooled.alone:
        print(
            f"the second ear alone: {100 * pooled.alone_right / pooled.alone:.1f} % right, "
            f"{100 * pooled.alone_other / pooled.alone:.1f} % another meaning, of {pooled.alone}"
        )
    for name, seconds in (("processor", pooled.cpu_s), ("wall clock", pooled.wall_s)):
        if seconds:
            middle, high = np.percentile(seconds, (50, 95))
            print(f"{name}: median {middle:.2f} s, 95 % within {high:.2f} s an utterance")
    print(f"most memory of its process: {memory_mib:.0f} MiB")
    if options.json:
        found = [
            {"model": model, "voice": voice, "level": level, **vars(row)}
            for (model, voice, level), row in rows.items()
        ]
        options.json.write_text(json.dumps(found, indent=1) + "\n", encoding="utf-8")


def heard(options: argparse.Namespace, ear: ProcessEar) -> dict[Key, Row]:
    """Decodes every clip at every level with both ears; the second only once for all models."""
    language = Language.load()
    models = [SpeechModel.load(folder) for folder in options.model or [None]]
    recognizers = {model.name: VoskRecognizer(model, None, language.parse) for model in models}
    bed = noises(options.data) if options.data.exists() else []
    levels = [None if level == "quiet" else float(level) for level in options.levels.split(",")]
    rows: dict[Key, Row] = defaultdict(Row)
    for sample in clips(options, language):
        for level in levels if bed else [None]:
            samples = in_noise(sample, level, bed)
            second: Second | None = None
            for name, recognizer in recognizers.items():
                row = rows[name, sample.voice, level_name(level)]
                first = recognizer.recognize(samples).text
                took = language.parse(first)
                if second is None and (options.alone or second_opinion.values_in(took)):
                    second = Second.of(ear, samples)
                    row.cpu_s.append(second.cpu_s)
                    row.wall_s.append(second.wall_s)
                    alone = language.parse(transcript_words(language, second.text))
                    row.alone += 1
                    row.alone_right += alone == language.parse(sample.text)
                    row.alone_other += alone not in (None, language.parse(sample.text))
                text = second.text if second is not None else ""
                outcome = count(row, language, sample.text, took, text)
                right = took is not None and took == language.parse(sample.text)
                if options.texts:
                    line = (name, sample.voice, level_name(level), outcome, str(right))
                    with options.texts.open("a", encoding="utf-8") as file:
                        print(*line, sample.text, first, text, sep="\t", file=file)
    return rows


@dataclass(frozen=True)
class Second:
    """The text of the second ear for one sound, and the time that it took."""

    text: str
    cpu_s: float
    wall_s: float

    @classmethod
    def of(cls, ear: ProcessEar, samples: NDArray[np.int16]) -> Second:
        """Decodes the sound now."""
        cpu_s, begun = cpu_of(ear.process_id), time.perf_counter()
        text = ear.begin(samples).result()
        return cls(text, cpu_of(ear.process_id) - cpu_s, time.perf_counter() - begun)


def clips(options: argparse.Namespace, language: Language) -> Iterator[Sample]:
    """Lists the clips whose text is a reading."""
    with (options.clips / "manifest.csv").open(encoding="utf-8", newline="") as file:
        listed = [row for row in csv.DictReader(file) if row.get("language", "en") == "en"]
    wanted = set(options.voices.split(",")) if options.voices else None
    of: dict[str, list[dict[str, str]]] = defaultdict(list)
    for one in listed:
        said = second_opinion.values_in(language.parse(one["text"]))
        taken = said and (options.any_value or all(map(can_be, said)))
        if taken and (wanted is None or one["voice"] in wanted):
            of[one["voice"]].append(one)
    for chosen in of.values():
        step = max(1, len(chosen) // options.most) if options.most else 1
        for one in chosen[::step]:
            sound: Sound = read_sound(options.clips / one["path"]).astype(np.float64)
            yield Sample(sound, one["text"], one["voice"])


def count(row: Row, language: Language, said: str, took: Meaning | None, text: str) -> str:
    """Adds an utterance to its row: ``took`` from the first ear, ``text`` from the second."""
    meant = language.parse(said)
    row.values += 1
    if took is None:
        return "not understood"
    right = took == meant
    row.first_right += right
    row.first_wrong += not right
    if not second_opinion.values_in(took):
        row.unclear += 1  # taken for a command or an answer: no value is read back
        row.unclear_wrong += not right
        return "no value"
    second = language.parse(transcript_words(language, text))
    outcome = second_opinion.outcome(state_with(took, meant), second)
    match outcome:
        case "agreed":
            row.agreed += 1
            row.agreed_wrong += not right
        case "differed":
            row.asked_right += right
            row.asked_wrong += not right
            row.second_right += not right and same_values(second, meant)
        case _:
            row.unclear += 1
            row.unclear_wrong += not right
    return outcome


def state_with(took: Meaning | None, meant: Meaning | None) -> State:
    """Makes a conversation that reads back the value of the first ear.

    A step that asks for the value that was meant supplies what the first ear left out.
    """
    (asked, *_) = second_opinion.values_in(meant)
    items = tuple(pending(said, asked) for said in second_opinion.values_in(took))
    return State(
        procedure=load_procedure("controller-replaced-pair"),
        limits=load_limits("a156.19"),
        progress=Progress(job=Job.open(SHEET)),
        pending=ReadingsQuestion(items=items),
    )


def pending(said: ReadingSaid, asked: ReadingSaid) -> ProposedReading:
    """Returns the reading as the conversation completes it, at a step that asks for it."""
    quantity = said.quantity or asked.quantity or fitting(asked)
    unit = said.unit
    if unit is None or family_of(unit) is not QUANTITIES[quantity].family:
        unit = QUANTITIES[quantity].default_unit(SHEET.units)
    subject = said.subject or asked.subject or Subject.LEFT_LEAF
    return ProposedReading(
        quantity=quantity,
        subjects=LEAF_SUBJECTS if subject is Subject.BOTH_LEAVES else (subject,),
        value=said.value,
        unit=unit,
        taken=Taken.SAID,
        clip=None,
    )


def can_be(said: ReadingSaid) -> bool:
    """True if a door can have such a value; sentences drawn from the grammar have any value."""
    quantity = said.quantity or fitting(said)
    return QUANTITIES[quantity].plausible(pending(said, said).measure)


def fitting(asked: ReadingSaid) -> Quantity:
    """Returns a quantity for a bare value: the first one whose range contains it, if any."""
    able = [
        quantity
        for quantity, facts in QUANTITIES.items()
        if asked.unit is None or family_of(asked.unit) is facts.family
    ]
    for quantity in able:
        unit = asked.unit or QUANTITIES[quantity].default_unit(SHEET.units)
        if QUANTITIES[quantity].plausible(Measure(value=asked.value, unit=unit)):
            return quantity
    return able[0] if able else Quantity.CLOSING_FORCE


def same_values(second: Meaning | None, meant: Meaning | None) -> bool:
    """True if the second ear got the numbers that were said."""
    ours, said = second_opinion.values_in(second), second_opinion.values_in(meant)
    return [each.value for each in ours] == [each.value for each in said]


def table(rows: dict[Key, Row]) -> str:
    """Formats every voice and level, and all voices together, in percent of the values that were
    said.
    """
    pooled: dict[Key, Row] = defaultdict(Row)
    for (model, _, level), row in rows.items():
        pooled[model, "all", level] += row
    lines = [
        "| model | voice | level | values | first ear right | wrong | wrong with both "
        "| both heard it | asked, first right | asked, first wrong (second right) |",
        "| --- | --- | --- | --- | --- | --- | --- | --- | --- | --- |",
    ]
    every = [*sorted(rows.items(), key=lambda each: each[0][:2]), *pooled.items()]
    for (model, voice, level), row in every:
        n = max(1, row.values)
        low, high = wilson(row.still_wrong, row.values)
        lines.append(
            f"| {model} | {voice} | {level} | {row.values} | {100 * row.first_right / n:.1f} "
            f"| {100 * row.first_wrong / n:.1f} "
            f"| {100 * row.still_wrong / n:.1f} [{100 * low:.1f}-{100 * high:.1f}] "
            f"| {100 * (row.agreed - row.agreed_wrong) / n:.1f} "
            f"| {100 * row.asked_right / n:.1f} "
            f"| {100 * row.asked_wrong / n:.1f} ({row.second_right}) |"
        )
    return "\n".join(lines)


def cpu_of(process_id: int) -> float:
    """Returns the processor time of a process so far (s)."""
    fields = (
        Path(f"/proc/{process_id}/stat").read_text(encoding="ascii").rpartition(") ")[2].split()
    )
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def status_of(process_id: int, name: str) -> int:
    """Returns a value of a process's status (KiB)."""
    status = Path(f"/proc/{process_id}/status").read_text(encoding="ascii")
    return next(int(line.split()[1]) for line in status.splitlines() if line.startswith(name))


if __name__ == "__main__":
    main()
