"""Measures words that were trained without recordings, as the words of the trade are.

    python -m handsfree.training.train data run --minutes 4 --without yes stop seven right
    python -m tests.bench.left_out RECORDINGS --model MODEL --without yes stop seven right

Real people say the words that the training left out (all recordings, because it had none of them).
For comparison, speakers kept apart from every training say the other words.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterable, Iterator
from pathlib import Path

import numpy as np

from handsfree.audio.sound_files import read_sound
from handsfree.language.interpreter import Language
from handsfree.recognition.recognizer import VoskRecognizer
from handsfree.recognition.speech_model import SpeechModel
from handsfree.training.prepare import for_development, plain, rows_of
from tests.bench.listening_material import LEVELS_DB, Sample, in_noise, level_name
from tests.bench.score import Cell

LONG_NOISE_S = 10.0
"""Shortest noise that is used (s): short ones are partly silent, so no piece of them has a level.
"""


def main() -> None:
    """Prints the table."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n\n")[0])
    parser.add_argument("recordings", type=Path, help="folder of recordings used in the training")
    parser.add_argument("--model", type=Path, required=True)
    parser.add_argument("--without", nargs="+", required=True)
    options = parser.parse_args()
    language = Language.load()
    recognizer = VoskRecognizer(SpeechModel.load(options.model))
    rows = [row for row in rows_of(options.recordings) if row["kind"] == "words"]
    rows = [row for row in rows if language.parse(plain(row["text"])) is not None]
    apart = [row for row in rows if for_development(row["speaker"])]
    groups = {
        "left out, all speakers": [r for r in rows if plain(r["text"]) in options.without],
        "left out, speakers apart": [r for r in apart if plain(r["text"]) in options.without],
        "trained, speakers apart": [r for r in apart if plain(r["text"]) not in options.without],
    }
    noise = [
        read_sound(options.recordings / row["path"]).astype(np.float64)
        for row in rows_of(options.recordings)
        if row["kind"] == "noise" and float(row["seconds"]) > LONG_NOISE_S
    ]
    print(f"{'':26}" + "".join(f"{level_name(level):>20}" for level in LEVELS_DB))
    for name, chosen in groups.items():
        cells = [Cell() for _ in LEVELS_DB]
        for sample in _samples(options.recordings, chosen):
            for cell, level in zip(cells, LEVELS_DB, strict=True):
                heard = recognizer.recognize(in_noise(sample, level, noise)).text
                _count(cell, language, heard, sample.text)
        shown = "".join(f"{cell.shown('right'):>20}" for cell in cells)
        print(f"{name:26}{shown}  of {cells[0].count}", flush=True)


def _samples(recordings: Path, rows: Iterable[dict[str, str]]) -> Iterator[Sample]:
    for draw, row in enumerate(rows):
        sound = read_sound(recordings / row["path"]).astype(np.float64)
        yield Sample(sound, plain(row["text"]), row["speaker"], draw)


def _count(cell: Cell, language: Language, heard: str, said: str) -> None:
    meaning = language.parse(heard)
    cell.count += 1
    cell.right += meaning == language.parse(said)
    cell.accepted += meaning is not None


if __name__ == "__main__":
    main()
