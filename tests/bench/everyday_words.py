"""How well everyday words are recognized ('yes', 'okay', 'not good'), and their confusions.

    HANDSFREE_VOICES=FOLDER python -m tests.bench.everyday_words CLIPS [--language es]

CLIPS is a folder that keeps the sound between runs. Every word is said by each held-out natural
voice, in quiet and at 10 dB in ``--draws`` pieces of noise, and compared by its meaning. A bad word
taken for a good one is counted by itself.
"""

from __future__ import annotations

import argparse
from collections import Counter
from pathlib import Path

import numpy as np

from handsfree.language.interpreter import Language
from handsfree.language.meaning import Choice, Meaning, Word
from handsfree.recognition.recognizer import VoskRecognizer
from handsfree.recognition.speech_model import SpeechModel
from handsfree.rehearsal.natural_voice import made, why_missing
from tests.bench.hearing import DATA
from tests.bench.listening_material import Sample, Sound, in_noise, level_name, noises

SAID = {
    "en": (
        *("yes", "yeah", "yep", "no", "nope", "doesn't"),
        *("okay", "good", "all good", "works", "fine", "tight"),
        *("bad", "broken", "loose", "missing", "doesn't work", "not working"),
        *("not good", "no good", "not okay", "not fine", "not tight"),
        *("roger", "copy", "got it"),
    ),
    "es": (
        *("sí", "no", "bien", "todo bien", "está bien", "funciona"),
        *("mal", "está mal", "roto", "flojo", "falta", "no funciona", "no está bien"),
        *("recibido", "entendido"),
    ),
}
VOICES = {"en": ("af_sarah", "am_michael", "bf_isabella", "bm_lewis"), "es": ("em_alex",)}
"""The held-out voices of training/natural_voices.py that were made for the language; that module
needs torch."""
LEVELS_DB = (None, 10.0)


def main() -> None:
    """Prints how often each voice was heard rightly, and every confusion with its count."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n\n")[0])
    parser.add_argument("clips", type=Path)
    parser.add_argument("--language", default="en", choices=("en", "es"))
    parser.add_argument("--draws", type=int, default=3, help="pieces of noise")
    options = parser.parse_args()
    language = Language.load(language=options.language)
    voices = VOICES[options.language]
    if missing := [why for why in map(why_missing, voices) if why]:
        parser.error(missing[0])
    recognizer = VoskRecognizer(SpeechModel.load(None, options.language))
    noise = noises(DATA)
    for level in LEVELS_DB:
        taken, reversed_ = Counter[str](), 0
        for voice in voices:
            right = count = 0
            for text in SAID[options.language]:
                sound = clip(options.clips, voice, text)
                for draw in range(options.draws if level is not None else 1):
                    sample = Sample(sound, text, voice, draw)
                    heard = recognizer.recognize(in_noise(sample, level, noise)).text
                    said, understood = language.parse(text), language.parse(heard)
                    count += 1
                    right += said == understood
                    if said != understood:
                        what = heard if understood is not None else "nothing"
                        taken[f"{text} as {what}"] += 1
                    reversed_ += _is_bad(said) and _is_good(understood)
            print(f"{level_name(level)}, {voice}: {right} of {count}", flush=True)
        print(f"  bad taken for good: {reversed_}")
        print("  " + ("; ".join(f"{what} {n}" for what, n in sorted(taken.items())) or "all right"))


def clip(folder: Path, voice: str, text: str) -> Sound:
    """The word in a voice, made once and kept."""
    file = folder / voice / f"{text.replace(' ', '-')}.npy"
    if not file.is_file():
        file.parent.mkdir(parents=True, exist_ok=True)
        np.save(file, made(voice, text))
    sound: Sound = np.load(file)
    return sound


def _is_bad(meaning: Meaning | None) -> bool:
    return _is(meaning, "not_in_order", "negative")


def _is_good(meaning: Meaning | None) -> bool:
    return _is(meaning, "in_order", "affirm", "done")


def _is(meaning: Meaning | None, *values: str) -> bool:
    match meaning:
        case Word(kind=kind):
            return kind in values
        case Choice(value=value):
            return value in values
        case _:
            return False


if __name__ == "__main__":
    main()
