"""Makes clips of natural voices for the hearing bench: sentences, single commands, chat, new words.

    python -m tests.bench.natural_clips texts VOICES WORK     # here: what each voice says
    python -m handsfree.training.natural WORK                 # here or on a GPU: the sound
    python -m tests.bench.natural_clips cut WORK CLIPS        # CLIPS/manifest.csv and its clips

VOICES is the folder of natural voices of docs/speech-model.md. The manifest has path, text, voice,
role, kind and language. No voice here was ever trained on; choices are made on those with the role
'development'.
"""

from __future__ import annotations

import argparse
import csv
from collections.abc import Iterator
from pathlib import Path
from random import Random
from typing import NamedTuple

import soundfile

from handsfree.language.interpreter import Language
from handsfree.language.meaning import Correction, ReadingSaid
from handsfree.training import natural_voices
from handsfree.training.natural import read_said
from handsfree.training.natural_texts import short_sentences
from tests.bench.chat import CHAT

NEW_WORDS = (
    *("okay", "good", "works", "broken", "fixed", "inside", "outside", "arm", "buzz", "fine"),
    *("tight", "loose", "missing", "bad", "roger", "copy", "repaired", "adjusted", "replaced"),
    "inactive",
)
"""Words of the trade that the training did not have, like any new word of the grammar."""

_ACCENT = {"a": "en-us", "b": "en"}
_ANSWERS, _SENTENCES, _CHAT = 40, 110, 40


class Clip(NamedTuple):
    """A row of the manifest without its path."""

    text: str
    voice: str
    role: str
    kind: str
    language: str


def main() -> None:
    """Runs one of the two steps."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n\n")[0])
    parser.add_argument("step", choices=("texts", "cut"))
    parser.add_argument("source", type=Path)
    parser.add_argument("out", type=Path)
    options = parser.parse_args()
    if options.step == "cut":
        _cut(options.source, options.out)
    else:
        _texts(options.source, options.out)


def _texts(voices: Path, out: Path) -> None:
    """Writes the texts, and a list of which clip is in which sound."""
    phonemizer = natural_voices.Phonemizer.load(voices / "config.json")
    rng, said, clips = Random(81), [], []
    for clip in _clips(rng):
        accent = _ACCENT.get(clip.voice[0], "en-us") if clip.language == "en" else "es-419"
        tokens = phonemizer.tokens(clip.text + rng.choice((".", ".", "")), accent)
        speed = round(rng.uniform(0.85, 1.2), 2)
        said.append(natural_voices.said_by(clip.voice, len(said), tokens, speed))
        clips.append(clip)
    natural_voices.carry_sayings(voices, out / "natural", [c.text for c in clips], said)
    with (out / "clips.csv").open("w", encoding="utf-8", newline="") as file:
        csv.writer(file).writerows([Clip._fields, *clips])


def _clips(rng: Random) -> Iterator[Clip]:
    for language, roles in (
        (
            "en",
            {"held-out": natural_voices.HELD_OUT, "development": natural_voices.DEVELOPMENT},
        ),
        (
            "es",
            {
                "held-out": natural_voices.HELD_OUT_SPANISH,
                "development": natural_voices.DEVELOPMENT_SPANISH,
            },
        ),
    ):
        grammar = Language.load(language=language)
        for role, names in roles.items():
            for voice in names:
                for kind, text in _said(grammar, rng):
                    yield Clip(text, voice, role, kind, language)


def _said(language: Language, rng: Random) -> Iterator[tuple[str, str]]:
    """Lists what one voice says: kind and text."""
    rules = [rule for rule in language.grammar.rules if rule.startswith("words.")]
    for text in sorted({t for rule in rules for t in short_sentences(language.grammar, rule)}):
        if language.parse(text) is not None:
            yield "command", text
    answers = short_sentences(language.grammar, "choices.choice")
    for text in rng.sample(answers, min(_ANSWERS, len(answers))):
        yield "answer", text
    drawn = 0
    while drawn < _SENTENCES:
        text = language.sentence(rng)
        meaning = language.parse(text)
        reading = isinstance(meaning, ReadingSaid | Correction)
        if meaning is None or (not reading and len(text.split()) < 3):
            continue
        yield "reading" if reading else "sentence", text
        drawn += 1
    if language.wording.language == "en":
        for text in CHAT[:_CHAT]:
            yield "chat", text
        for text in NEW_WORDS:
            yield "new word", text


def _cut(source: Path, out: Path) -> None:
    with (source / "clips.csv").open(encoding="utf-8", newline="") as file:
        clips = [Clip(**row) for row in csv.DictReader(file)]
    rows = []
    for sound, said in read_said(source / "natural"):
        for one in said:
            clip = clips[one.number]
            path = Path(clip.language) / clip.voice / f"{one.number:05}.flac"
            (out / path).parent.mkdir(parents=True, exist_ok=True)
            soundfile.write(out / path, sound[one.start : one.start + one.length], 16_000)
            rows.append({"path": path.as_posix(), **clip._asdict()})
    rows.sort(key=lambda row: row["path"])
    with (out / "manifest.csv").open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, ["path", *Clip._fields])
        writer.writeheader()
        writer.writerows(rows)


if __name__ == "__main__":
    main()
