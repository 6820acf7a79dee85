"""Gathers everything that a training needs into one folder, which may travel.

    python -m handsfree.training.prepare RECORDINGS OUT

RECORDINGS holds manifest.csv (path, kind, text, speaker, seconds) and the sound it lists.
OUT gets the recordings' own bytes (sound-1.bin, ...), what lies where in them (index.json),
texts to read aloud (texts.txt), the pronunciations of all words (words.json) and the
voices (voices/).
"""

from __future__ import annotations

import argparse
import csv
import json
import re
from itertools import islice
from pathlib import Path
from random import Random

from handsfree.grammar.language import Language
from handsfree.speech.model import model_folder
from handsfree.training import voices
from handsfree.training.pronounce import Pronouncer
from handsfree.training.texts import texts

PART_BYTES = 50_000_000
"""The size of one sound file: several may have to travel one by one."""
LONGEST_S = 12.0
NOISE, NOT_USED = "noise", "other_speech"
_DEVELOPMENT_SHARE = 0.1


def main() -> None:
    """Writes the folder."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n\n")[0])
    parser.add_argument("recordings", type=Path)
    parser.add_argument("out", type=Path)
    parser.add_argument("--texts", type=int, default=120_000)
    parser.add_argument("--leave-out", nargs="*", default=[], help="speakers not to be used")
    options = parser.parse_args()
    options.out.mkdir(parents=True, exist_ok=True)
    language, rng = Language.load(), Random(3)
    pronouncer = Pronouncer.load(model_folder() / "lexicon.txt")
    rows = [row for row in rows_of(options.recordings) if row["speaker"] not in options.leave_out]
    index, words = _pack(options.recordings, rows, pronouncer, options.out)
    (options.out / "index.json").write_text(json.dumps(index), encoding="utf-8")
    general = sorted(words - language.words())
    read = list(islice(texts(language, general, rng), options.texts))
    (options.out / "texts.txt").write_text("\n".join(read), encoding="utf-8")
    words.update(word for text in read for word in text.split())
    said = {word: pronouncer.phones(word) for word in sorted(words)}
    (options.out / "words.json").write_text(json.dumps(said), encoding="utf-8")
    voices.carry(options.out / "voices")


def plain(text: str) -> str:
    """A transcript in the letters of the dictionary: small, no punctuation."""
    return " ".join(re.sub(r"[^a-z' ]+", " ", text.lower().replace("-", " ")).split())


def for_development(speaker: str) -> bool:
    """Whether a speaker is kept apart from the training, to choose things with."""
    return Random(f"development {speaker}").random() < _DEVELOPMENT_SHARE


def rows_of(recordings: Path) -> list[dict[str, str]]:
    """The manifest's rows."""
    with (recordings / "manifest.csv").open(encoding="utf-8") as file:
        return list(csv.DictReader(file))


def _pack(
    recordings: Path, rows: list[dict[str, str]], pronouncer: Pronouncer, out: Path
) -> tuple[list[dict[str, object]], set[str]]:
    """Writes the sound; returns what lies where, and the words that are said in it."""
    index: list[dict[str, object]] = []
    words: set[str] = set()
    part, packed = 1, bytearray()
    for row in rows:
        group, text = row["kind"].split("/")[0], plain(row["text"])
        if group == NOT_USED or for_development(row["speaker"] or row["path"]):
            continue
        if group != NOISE:
            known = text and all(map(pronouncer.knows, text.split()))
            if not known or float(row["seconds"]) > LONGEST_S:
                continue
            words.update(text.split())
        content = (recordings / row["path"]).read_bytes()
        if len(packed) + len(content) > PART_BYTES:
            (out / f"sound-{part}.bin").write_bytes(packed)
            part, packed = part + 1, bytearray()
        place = {"part": part, "start": len(packed), "bytes": len(content)}
        index.append({**place, "group": group, "text": text})
        packed += content
    (out / f"sound-{part}.bin").write_bytes(packed)
    return index, words


if __name__ == "__main__":
    main()
