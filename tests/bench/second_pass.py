"""Measures what a second pass gains for answers, and its false accepts.

    python -m tests.bench.second_pass ../shared/speech-train --grid
    python -m tests.bench.second_pass ../shared/speech-train --grid --readings
    python -m tests.bench.second_pass ../shared/speech-train --voices held-out \\
        --people ../shared/speech

Synthetic voices say answers, in quiet and in noise. Chat in the same voices and pieces of other
people's speech must be rejected. RECORDINGS is the folder that the model was trained on: only its
speakers and noises that are kept apart are used, unless ``--people`` names another folder.
``--grid`` tries several costs of other speech; without it the ones in use are measured.

A false accept is other speech or another answer taken for one that a step waits for: agreement
(*affirm*, *negative*), an observation (*in order*, *not in order*), or *done*.
"""

from __future__ import annotations

import argparse
import sys
from collections import defaultdict
from collections.abc import Iterator
from pathlib import Path
from random import Random

import numpy as np

from handsfree.audio.sound_files import read_sound
from handsfree.dialogue.answer_set import AnswerSet
from handsfree.dialogue.sentences import is_word
from handsfree.language.interpreter import Language
from handsfree.language.meaning import Choice, Word
from handsfree.recognition.constrained_retry import AT_ONCE, LONGEST_S, READ_BACK, READING
from handsfree.recognition.grammar_model import recognizer_for
from handsfree.recognition.graph_compiler import Costs
from handsfree.recognition.recognizer import VoskRecognizer
from handsfree.recognition.speech_model import SpeechModel
from handsfree.sample_rate import SAMPLE_RATE_HZ
from handsfree.training.prepare import for_development, plain, rows_of

from . import awaited_readings
from .chat import CHAT
from .hearing import usable_voices
from .listening_material import Sample, Sound, in_noise, level_name, noises, read_aloud
from .score import wilson

LEVELS_DB = (None, 15.0, 10.0)
GRID_OF_READINGS = ((7, 2.2), (10, 2.2), (13, 2.2), (16, 2.2))
GRID = ((7, 1.1), (7, 2.2), (10, 2.2), (13, 2.2))
WAITED = {
    "agreement": AnswerSet(words=frozenset({"affirm", "negative"})),
    "observation": AnswerSet(choices=frozenset({"in_order", "not_in_order"})),
    "done": AnswerSet(words=frozenset({"done"})),
}
ANSWERS = {
    "agreement": (
        *("affirm", "affirmative", "yes"),
        *("negative", "no", "wrong", "that is wrong", "incorrect", "not correct"),
    ),
    "observation": (
        *("in order", "as it should be", "both in order", "both leaves in order"),
        *("not in order", "out of order", "not as it should be", "defective"),
    ),
    "done": ("done", "next", "finished", "that is done", "next step"),
}
PIECES_S = (0.5, 0.7, 0.9, 1.1, 1.3)
LONGER_PIECES_S = (0.7, 1.1, 1.5, 2.0, 2.5)
"""Lengths of the pieces of other people's speech (s): as short as a reading."""


class Ears:
    """Decodes with the whole grammar; if it finds no sentence, decodes the answers at each cost."""

    def __init__(self, language: Language, costs: tuple[Costs, ...]) -> None:
        model = SpeechModel.load()
        self._language = language
        self._first = VoskRecognizer(model, language.automaton())
        self._again = {
            each: recognizer_for(model, language.automaton("answer"), each) for each in costs
        }

    def hear(self, sound: Sound) -> tuple[object, dict[Costs, object]]:
        """Returns the result of the first pass, and the final result at each cost."""
        first = self._language.parse(self._first.recognize(sound).text)
        if first is not None or len(sound) > LONGEST_S * SAMPLE_RATE_HZ:
            return first, dict.fromkeys(self._again, first)
        return None, {each: self._sought(ears, sound) for each, ears in self._again.items()}

    def _sought(self, ears: VoskRecognizer, sound: Sound) -> object:
        text = ears.recognize(sound).text
        heard = self._language.parse(text)
        doubtful = is_word(heard, "affirm") and self._language.may_be_a_refusal(text)
        return None if doubtful else heard


def people(
    folder: Path, kind: str, most: int, *, apart: bool, longer: bool = False
) -> Iterator[Sample]:
    """Returns pieces of what people say who are not technicians; ``longer`` makes them as long as
    readings.
    """
    rows = [row for row in rows_of(folder) if row["kind"].split("/")[0] == kind]
    if apart and kind != "other_speech":  # of that nothing was trained on
        rows = [row for row in rows if for_development(row["speaker"] or row["path"])]
    for row in rows[:: max(1, len(rows) // most)]:
        sound, rng = read_sound(folder / row["path"]).astype(np.float64), Random(row["path"])
        length = round(SAMPLE_RATE_HZ * rng.choice(LONGER_PIECES_S if longer else PIECES_S))
        if kind in ("other_speech", "sentences") and len(sound) > length:
            start = rng.randrange(len(sound) - length)
            sound = sound[start : start + length]
        if len(sound) >= SAMPLE_RATE_HZ // 5 and np.abs(sound).max() > 50:
            yield Sample(sound, plain(row["text"]), kind)


def noise_apart(folder: Path) -> list[Sound]:
    """Returns the noises kept apart from every training as one sound, without its silent parts."""
    paths = [row["path"] for row in rows_of(folder) if row["kind"] == "noise"]
    found = []
    for path in filter(for_development, paths):
        sound = read_sound(folder / path).astype(np.float64)
        frames = sound[: len(sound) // 320 * 320].reshape(-1, 320)
        rms = np.sqrt(np.mean(frames**2, axis=1))
        sounding = frames[rms > 0.2 * np.sqrt(np.mean(frames**2))].ravel()
        found.append(sounding / np.sqrt(np.mean(sounding**2)) * 1000)
    return [np.concatenate(found)]


class Counts:
    """Hits of one kind of material at one level: all, in the first pass, and at each cost."""

    def __init__(self) -> None:
        self.count = 0
        self.first = 0
        self.end: dict[Costs, int] = defaultdict(int)
        self.assents: dict[Costs | None, int] = defaultdict(int)

    def shown(self, costs: Costs | None) -> str:
        """Returns a cell such as '83.3 [70-91]', with '!2' for two refusals heard as assents."""
        hits = self.first if costs is None else self.end[costs]
        low, high = wilson(hits, self.count)
        more = f" !{self.assents[costs]}" if self.assents[costs] else ""
        return f"{100 * hits / max(1, self.count):5.1f} [{100 * low:.0f}-{100 * high:.0f}]{more}"


Table = dict[str, dict[float | None, Counts]]


def answers(ears: Ears, language: Language, voices: list[str], noise: list[Sound]) -> Table:
    """Measures answers while they are expected: understood with the right meaning."""
    table: Table = defaultdict(lambda: defaultdict(Counts))
    for voice in voices:
        for what, texts in ANSWERS.items():
            for sample in read_aloud(voice, texts, 2):
                said = language.parse(sample.text)
                for level in LEVELS_DB:
                    counts = table[f"{what}, {voice}"][level]
                    first, end = ears.hear(in_noise(sample, level, noise))
                    counts.count += 1
                    counts.first += _alike(first, said)
                    counts.assents[None] += _refusal_as_assent(said, first)
                    for costs, heard in end.items():
                        counts.end[costs] += WAITED[what].fits(heard) and _alike(heard, said)
                        counts.assents[costs] += _refusal_as_assent(said, heard)
    return table


def others(ears: Ears, samples: list[Sample], name: str, noise: list[Sound]) -> Table:
    """Measures what is not an answer but is taken for one, while an answer is expected."""
    table: Table = defaultdict(lambda: defaultdict(Counts))
    for sample in samples:
        for level in LEVELS_DB:
            first, end = ears.hear(in_noise(sample, level, noise))
            for what, waited in WAITED.items():
                counts = table[f"{name} taken for {what}"][level]
                counts.count += 1
                counts.first += waited.fits(first)
                for costs, heard in end.items():
                    counts.end[costs] += waited.fits(heard)
    return table


def _alike(heard: object, said: object) -> bool:
    """True for the same answer; its subject does not count, because it is read back."""
    if isinstance(heard, Choice) and isinstance(said, Choice):
        return heard.value == said.value
    return isinstance(heard, Word) and heard == said


def _refusal_as_assent(said: object, heard: object) -> bool:
    """True if a refusal was heard as an assent."""
    return is_word(said, "negative") and is_word(heard, "affirm")


def show(table: Table, costs: tuple[Costs, ...]) -> None:
    """Formats one line of each row for each cost."""
    for title, by_level in table.items():
        for each in (None, *costs):
            name = "at first" if each is None else f"{each.other_speech:g}, {each.other_phone:g}"
            cells = "".join(f"{by_level[level].shown(each):>20}" for level in LEVELS_DB)
            print(f"{title[:48]:48} {name:>9}{cells}", flush=True)


def main() -> None:
    """Prints the tables."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n\n")[0])
    parser.add_argument("recordings", type=Path, help="folder of recordings used in the training")
    parser.add_argument("--people", type=Path, help="other recordings, of people never trained on")
    parser.add_argument("--voices", default="development", choices=("development", "held-out"))
    parser.add_argument("--count", type=int, default=60, help="pieces of each kind of people")
    parser.add_argument("--grid", action="store_true", help="try several costs of other speech")
    parser.add_argument(
        "--readings", action="store_true", help="measure readings instead of answers"
    )
    options = parser.parse_args()
    if options.readings:
        of_readings(options)
        return
    language = Language.load()
    grid = tuple(Costs(other_speech=once, other_phone=each) for once, each in GRID)
    costs = grid if options.grid else (AT_ONCE, READ_BACK)
    ears = Ears(language, costs)
    voices = [voice for _, voice in usable_voices(options.voices)]
    apart = options.people is None
    noise = noise_apart(options.recordings) if apart else noises(options.people)
    print(f"{'':58}" + "".join(f"{level_name(level):>20}" for level in LEVELS_DB))
    show(answers(ears, language, voices, noise), costs)
    chat = [sample for voice in voices for sample in read_aloud(voice, CHAT)]
    show(others(ears, chat, "chat", noise), costs)
    kinds = (
        ("other_speech", "other_words", "sentences") if apart else ("other_speech", "other_words")
    )
    for kind in kinds:
        print(f"listening to {kind}", file=sys.stderr)
        folder = options.recordings if apart else options.people
        heard = list(people(folder, kind, options.count, apart=apart))
        show(others(ears, heard, kind.replace("_", " "), noise), costs)


def of_readings(options: argparse.Namespace) -> None:
    """Prints what the second pass gains for an expected reading, and its false accepts."""
    language = Language.load()
    grid = tuple(Costs(other_speech=once, other_phone=each) for once, each in GRID_OF_READINGS)
    costs = grid if options.grid else (READING,)
    ears = awaited_readings.ReadingEars(language, costs)
    voices = [voice for _, voice in usable_voices(options.voices)]
    apart = options.people is None
    folder = options.recordings if apart else options.people
    noise = noise_apart(folder) if apart else noises(folder)
    print(f"{'':68}" + "".join(f"{level_name(level):>16}" for level in LEVELS_DB))
    rows = awaited_readings.readings(ears, language, voices, options.count, LEVELS_DB, noise)
    awaited_readings.show(rows, costs, LEVELS_DB)
    answers_said = [text for texts in ANSWERS.values() for text in texts]
    for name, texts in (("other answers", answers_said), ("chat", CHAT)):
        samples = [sample for voice in voices for sample in read_aloud(voice, texts)]
        heard = awaited_readings.others(ears, samples, name, LEVELS_DB, noise)
        awaited_readings.show(heard, costs, LEVELS_DB)
    for kind in (*("other_speech", "other_words"), *(("sentences",) if apart else ())):
        samples = list(people(folder, kind, options.count, apart=apart, longer=True))
        heard = awaited_readings.others(ears, samples, kind, LEVELS_DB, noise)
        awaited_readings.show(heard, costs, LEVELS_DB)


if __name__ == "__main__":
    main()
