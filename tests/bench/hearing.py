"""How well the tool hears: shares of utterances understood, with intervals, as a table and JSON.

    python -m tests.bench.hearing --json hearing.json
    python -m tests.bench.hearing --model my-model --model shipped --yardstick

Real people and noises come from ../shared/speech or the folder that HANDSFREE_SPEECH_DATA
names; synthetic voices from flite, festival and espeak-ng. Several models hear the same
sound. ``--yardstick`` adds pocketsphinx at its own model (the bench extra). An utterance
is right when its meaning is entirely right. Intervals are Wilson's, 95 %.
"""

from __future__ import annotations

import argparse
import csv
import json
import math
import os
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from random import Random

import numpy as np
from numpy.typing import NDArray

from handsfree.grammar.automaton import Automaton
from handsfree.grammar.language import Language
from handsfree.speech.graph import compile_graph
from handsfree.speech.lexicon import read_lexicon
from handsfree.speech.model import SAMPLE_RATE, SpeechModel
from handsfree.speech.recogniser import Recogniser, VoskRecogniser
from handsfree.speech.sound import read_sound

ROOT = Path(__file__).parents[2]
DATA = Path(os.environ.get("HANDSFREE_SPEECH_DATA", ROOT.parent / "shared" / "speech"))
LEVELS: tuple[float | None, ...] = (None, 20.0, 10.0, 5.0)
ROOM_RMS = 8.0  # of 32768: what 'quiet' means here
PAUSE = np.zeros(SAMPLE_RATE // 2)
VOICES = (
    *("flite:slt", "festival:cmu_us_slt_arctic_hts", "festival:kal_diphone"),
    *("flite:rms", "flite:awb", "espeak:en-us+m3", "espeak:en-gb+f2"),
)

Sound = NDArray[np.float64]


@dataclass(frozen=True)
class Sample:
    """One utterance: its sound, what was said, and the voice."""

    sound: Sound
    text: str
    voice: str


def wilson(right: int, count: int) -> tuple[float, float]:
    """The 95 % interval of a share (Wilson 1927)."""
    if count == 0:
        return 0.0, 1.0
    z, share = 1.96, right / count
    middle = (share + z * z / (2 * count)) / (1 + z * z / count)
    half = z / (1 + z * z / count) * math.sqrt(share * (1 - share) / count + z * z / (4 * count**2))
    return max(0.0, middle - half), min(1.0, middle + half)


# --- what is heard


def spoken(voice: str, text: str) -> Sound:
    """The text in a synthetic voice, at 16 kHz."""
    engine, name = voice.split(":")
    with tempfile.TemporaryDirectory() as folder:
        wav = Path(folder) / "line.wav"
        command = {
            "flite": ["flite", "-voice", name, "-t", text, "-o", str(wav)],
            "festival": ["text2wave", "-eval", f"(voice_{name})", "-o", str(wav)],
            "espeak": ["espeak-ng", "-v", name, "-s", "150", "-w", str(wav), text],
        }[engine]
        subprocess.run(command, input=text, text=True, check=True, capture_output=True)
        return read_sound(wav).astype(np.float64)


def readings(language: Language, voice: str, count: int) -> Iterator[Sample]:
    """Sentences drawn from the grammar itself."""
    rng = Random(20)
    for _ in range(count):
        text = language.sentence(rng)
        yield Sample(spoken(voice, text), text, voice)


def recordings(kind: str, count: int) -> Iterator[Sample]:
    """Recordings of real people, drawn evenly over the list."""
    with (DATA / "manifest.csv").open(encoding="utf-8") as file:
        rows = [row for row in csv.DictReader(file) if row["kind"] == kind]
    for row in rows[:: max(1, len(rows) // count)]:
        sound = read_sound(DATA / row["path"]).astype(np.float64)
        yield Sample(sound, row["text"].lower(), row["speaker"])


def noises() -> list[Sound]:
    """The real noises, whole."""
    return [read_sound(path).astype(np.float64) for path in sorted((DATA / "noise").glob("*"))]


def in_noise(sample: Sample, level_db: float | None, noise: list[Sound]) -> NDArray[np.int16]:
    """The utterance between two pauses, with noise at a level below its voice."""
    sound = np.concatenate((PAUSE, sample.sound, PAUSE))
    rng = np.random.default_rng(len(sound))
    loud = np.sort(np.abs(sample.sound))[len(sample.sound) // 2 :]
    scale = 2500.0 / math.sqrt(np.mean(loud**2))
    mixed = sound * scale + rng.normal(0, ROOM_RMS, len(sound))
    if level_db is not None:
        bed = noise[int(rng.integers(len(noise)))]
        start = int(rng.integers(max(1, len(bed) - len(sound))))
        piece = np.resize(bed[start:], len(sound))
        voice_rms = math.sqrt(np.mean((sample.sound * scale) ** 2))
        mixed += piece * (voice_rms * 10 ** (-level_db / 20) / math.sqrt(np.mean(piece**2)))
    return np.clip(np.rint(mixed), -32768, 32767).astype(np.int16)


# --- who hears


def with_grammar(folder: Path, automaton: Automaton, into: Path) -> Path:
    """A copy of a model folder whose graph has another grammar."""
    shutil.copytree(folder, into)
    compile_graph(automaton, read_lexicon(folder / "lexicon.txt")).write(into / "graph")
    return into


class PocketSphinx:
    """The yardstick: pocketsphinx with its own English model and our grammar as an FSG."""

    def __init__(self, automaton: Automaton, folder: Path) -> None:
        from pocketsphinx import Decoder

        place = {automaton.start: 0}
        for arc in automaton.arcs:
            for end in (arc.source, arc.target):
                place.setdefault(end, len(place))
        final = len(place)
        lines = ["FSG_BEGIN g", f"NUM_STATES {final + 1}", "START_STATE 0", f"FINAL_STATE {final}"]
        lines += [
            f"TRANSITION {place[a.source]} {place[a.target]} 1.0 {a.word}" for a in automaton.arcs
        ]
        lines += [f"TRANSITION {place[end]} {final} 1.0" for end in automaton.finals]
        path = folder / f"{len(automaton.arcs)}.fsg"
        path.write_text("\n".join([*lines, "FSG_END", ""]), encoding="utf-8")
        self._decoder = Decoder(lm=None, fsg=str(path), loglevel="FATAL", samprate=SAMPLE_RATE)

    def text(self, samples: NDArray[np.int16]) -> str:
        """The words of one utterance."""
        self._decoder.start_utt()
        self._decoder.process_raw(samples.tobytes(), full_utt=True)
        self._decoder.end_utt()
        found = self._decoder.hyp()
        return found.hypstr if found else ""


Hears = Callable[[NDArray[np.int16]], str]


def hears(recogniser: Recogniser) -> Hears:
    """A recogniser as a function from sound to text."""
    return lambda samples: recogniser.recognise(samples).text


@dataclass
class Cell:
    """One cell of the table."""

    right: int = 0
    accepted: int = 0
    assent: int = 0
    count: int = 0

    def as_json(self) -> dict[str, object]:
        """Counts, shares and intervals."""
        low, high = wilson(self.right, self.count)
        return {
            "right": self.right,
            "wrong_but_accepted": self.accepted - self.right,
            "refusal_heard_as_assent": self.assent,
            "count": self.count,
            "share": round(self.right / max(1, self.count), 4),
            "interval": [round(low, 4), round(high, 4)],
        }


def measure(
    samples: Iterable[Sample], hear: Hears, language: Language, rule: str, noise: list[Sound]
) -> dict[str, Cell]:
    """The cells of one row, by level."""
    cells = {level_name(level): Cell() for level in LEVELS}

    def meaning(text: str) -> object:
        return language.number(text) if rule == "number" else language.parse(text)

    for sample in samples:
        said = meaning(sample.text)
        for level in LEVELS:
            cell = cells[level_name(level)]
            heard = meaning(hear(in_noise(sample, level, noise)))
            kinds = (getattr(said, "kind", None), getattr(heard, "kind", None))
            cell.count += 1
            cell.accepted += heard is not None
            cell.right += heard is not None and heard == said
            cell.assent += kinds == ("negative", "affirm")
    return cells


def level_name(level: float | None) -> str:
    """'quiet' or '20 dB'."""
    return "quiet" if level is None else f"{level:.0f} dB"


def main() -> None:
    """Prints the table, and writes JSON where asked to."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n\n")[0])
    parser.add_argument("--model", action="append", default=[], help="a model folder, or 'shipped'")
    parser.add_argument("--count", type=int, default=100, help="utterances a row")
    parser.add_argument("--yardstick", action="store_true", help="add pocketsphinx")
    parser.add_argument("--json", type=Path)
    options = parser.parse_args()
    if not (DATA / "manifest.csv").is_file():
        sys.exit(f"no recordings at {DATA}: name their folder in HANDSFREE_SPEECH_DATA")
    language, noise = Language.load(), noises()
    rows: list[tuple[str, str, list[Sample]]] = [
        ("real people, connected numbers", "number", list(recordings("numbers", options.count))),
        ("real people, single words", "utterance", list(recordings("words", 2 * options.count))),
        (
            "other speech (none is right)",
            "utterance",
            list(recordings("other_speech", options.count)),
        ),
        (
            "other words (none is right)",
            "utterance",
            list(recordings("other_words", options.count)),
        ),
    ]
    for voice in VOICES:
        rows.append(
            (f"readings, {voice}", "utterance", list(readings(language, voice, options.count)))
        )
    # Of what people said, only what is a sentence of the grammar can be right.
    rows[0] = (*rows[0][:2], [s for s in rows[0][2] if language.number(s.text) is not None])
    rows[1] = (*rows[1][:2], [s for s in rows[1][2] if language.parse(s.text) is not None])
    out: dict[str, object] = {}
    with tempfile.TemporaryDirectory() as scratch:
        ears: dict[str, dict[str, Hears]] = {}
        for name in options.model or ["shipped"]:
            model = SpeechModel.load(None if name == "shipped" else name)
            number = model
            if model.kind == "static":
                folder = Path(scratch) / f"number-{len(ears)}"
                grammar = language.automaton("number")
                number = SpeechModel.load(with_grammar(model.folder, grammar, folder))
            ears[name] = {
                "utterance": hears(VoskRecogniser(model, language.automaton())),
                "number": hears(VoskRecogniser(number, language.automaton("number"))),
            }
        if options.yardstick:
            ears["pocketsphinx"] = {
                rule: PocketSphinx(language.automaton(rule), Path(scratch)).text
                for rule in ("utterance", "number")
            }
        for name, by_rule in ears.items():
            began = time.process_time()
            seconds = 0.0
            print(f"\n{name}\n{'':34}" + "".join(f"{level_name(v):>20}" for v in LEVELS))
            table: dict[str, object] = {}
            for title, rule, samples in rows:
                cells = measure(samples, by_rule[rule], language, rule, noise)
                seconds += len(LEVELS) * sum(len(s.sound) / SAMPLE_RATE + 1 for s in samples)
                table[title] = {level: cell.as_json() for level, cell in cells.items()}
                print(
                    f"{title:34}" + "".join(f"{shown(cell):>20}" for cell in cells.values()),
                    flush=True,
                )
            factor = (time.process_time() - began) / seconds
            print(f"real-time factor {factor:.3f} (with mixing the noise)")
            out[name] = {"rows": table, "real_time_factor": round(factor, 4)}
    if options.json:
        options.json.write_text(json.dumps(out, indent=1) + "\n", encoding="utf-8")


def shown(cell: Cell) -> str:
    """'97.0 [93-99] 1.0': right, its interval, wrong but accepted, in percent."""
    low, high = wilson(cell.right, cell.count)
    wrong = 100 * (cell.accepted - cell.right) / max(1, cell.count)
    assent = f" !{cell.assent}" if cell.assent else ""
    share = 100 * cell.right / max(1, cell.count)
    return f"{share:.0f} [{100 * low:.0f}-{100 * high:.0f}] {wrong:.1f}{assent}"


if __name__ == "__main__":
    main()
