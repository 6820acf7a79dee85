"""Gathers everything that a training needs in one folder that can be copied.

    python -m handsfree.training.prepare RECORDINGS OUT

RECORDINGS holds manifest.csv (path, kind, text, speaker, seconds) and the sound it lists. OUT gets
the recordings' bytes (sound-1.bin, ...), their positions (index.json), texts to read aloud
(texts.txt), the pronunciations of all words (words.json), the robot voices (voices/) and, with
``--natural``, what the natural voices need (natural/). For Spanish there are only natural voices
and noises.
"""

from __future__ import annotations

import argparse
import csv
import json
import re
from collections.abc import Collection
from itertools import islice
from pathlib import Path
from random import Random

from handsfree.language.interpreter import Language
from handsfree.recognition.speech_model import model_folder
from handsfree.training import natural_voices, robot_voices
from handsfree.training.grammar_texts import texts
from handsfree.training.natural_texts import in_letters, natural_texts
from handsfree.training.pronunciation import Pronouncer, Pronounces, SpanishPronouncer

PART_BYTES = 34_000_000
"""Size of one sound file (bytes), because they may have to be copied one by one."""
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
    parser.add_argument("--natural", type=Path, help="folder of the natural voices")
    parser.add_argument("--natural-texts", type=int, default=120_000)
    parser.add_argument("--language", choices=("en", "es"), default="en")
    parser.add_argument("--without", nargs="*", default=[], help="words that no text may have")
    options = parser.parse_args()
    options.out.mkdir(parents=True, exist_ok=True)
    language, rng = Language.load(language=options.language), Random(3)
    english = options.language == "en"
    pronouncer: Pronounces = (
        Pronouncer.load(model_folder() / "lexicon.txt") if english else SpanishPronouncer()
    )
    rows = [row for row in rows_of(options.recordings) if row["speaker"] not in options.leave_out]
    if not english:
        rows = [row for row in rows if row["kind"].split("/")[0] == NOISE]
    index, words = _pack(options.recordings, rows, pronouncer, options.out, options.without)
    (options.out / "index.json").write_text(json.dumps(index), encoding="utf-8")
    if english:
        general = sorted(words - language.words())
        spoken = (t for t in texts(language, general, rng) if not {*options.without} & {*t.split()})
        read = list(islice(spoken, options.texts))
        (options.out / "texts.txt").write_text("\n".join(read), encoding="utf-8")
        words.update(word for text in read for word in text.split())
        robot_voices.carry(options.out / "voices")
    if options.natural:
        sentences = sorted({str(row["text"]) for row in index if row["group"] == "sentences"})
        common = words_of_general_use(options.language)
        drawn = natural_texts(language, sentences, common, options.without, rng)
        known = (text for text in drawn if all(map(pronouncer.knows, text.split())))
        natural = list(islice(known, options.natural_texts))
        words.update(word for text in natural for word in text.split())
        natural_voices.carry(
            options.natural, options.out / "natural", natural, options.language, rng
        )
    said = {word: pronouncer.phones(word) for word in sorted(words)}
    (options.out / "words.json").write_text(json.dumps(said), encoding="utf-8")


def words_of_general_use(language: str) -> list[str]:
    """The 6,000 most frequent words of a language, as the package wordfreq counts them."""
    from wordfreq import top_n_list

    frequent = top_n_list(language, 6000)
    return [word for word in frequent if word == in_letters(word) and len(word) > 1]


def plain(text: str) -> str:
    """A transcript in the letters of the dictionary: lower case, no punctuation."""
    return " ".join(re.sub(r"[^a-z' ]+", " ", text.lower().replace("-", " ")).split())


def for_development(speaker: str) -> bool:
    """True if a speaker is held out from the training for development."""
    return Random(f"development {speaker}").random() < _DEVELOPMENT_SHARE


def rows_of(recordings: Path) -> list[dict[str, str]]:
    """The manifest's rows."""
    with (recordings / "manifest.csv").open(encoding="utf-8") as file:
        return list(csv.DictReader(file))


def _pack(
    recordings: Path,
    rows: list[dict[str, str]],
    pronouncer: Pronounces,
    out: Path,
    without: Collection[str] = (),
) -> tuple[list[dict[str, object]], set[str]]:
    """Writes the sound; returns the positions in it, and the words said."""
    index: list[dict[str, object]] = []
    words: set[str] = set()
    part, packed = 1, bytearray()
    for row in rows:
        group, text = row["kind"].split("/")[0], plain(row["text"])
        if group == NOT_USED or for_development(row["speaker"] or row["path"]):
            continue
        if group != NOISE:
            known = text and all(map(pronouncer.knows, text.split()))
            if not known or set(text.split()) & set(without) or float(row["seconds"]) > LONGEST_S:
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
