"""Measures how well held-out voices are understood with *measure the leaf* and *open angle ninety*.

    HANDSFREE_VOICES=FOLDER python -m tests.bench.measure_phrases CLIPS [--language es]

CLIPS is a folder that keeps the sound between runs. Each held-out natural voice says each phrase in
quiet and at 10 dB in ``--draws`` pieces of noise; the meanings are compared.
"""

from __future__ import annotations

import argparse
from collections import Counter
from pathlib import Path

from handsfree.language.interpreter import Language
from handsfree.recognition.recognizer import VoskRecognizer
from handsfree.recognition.speech_model import SpeechModel
from handsfree.rehearsal.natural_voice import why_missing
from tests.bench.everyday_words import LEVELS_DB, VOICES, clip
from tests.bench.hearing import DATA
from tests.bench.listening_material import Sample, in_noise, level_name, noises

SAID = {
    "en": (
        *("measure the leaf", "measure the left leaf", "measure the right leaf", "measure leaf"),
        *("open angle ninety", "open angle eighty five degrees", "open angle one hundred and ten"),
        *("measure the left leaf open angle ninety", "measure the leaf open angle ninety two"),
    ),
    "es": (
        *("mida la hoja", "mida la hoja izquierda", "mida la hoja derecha", "medir la hoja"),
        *("ángulo de apertura noventa", "ángulo de apertura ochenta y cinco grados"),
        "mida la hoja izquierda ángulo de apertura noventa",
    ),
}


def main() -> None:
    """Prints how often each phrase was recognized, and every confusion with its count."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n\n")[0])
    parser.add_argument("clips", type=Path)
    parser.add_argument("--language", default="en", choices=("en", "es"))
    parser.add_argument("--draws", type=int, default=5, help="pieces of noise")
    options = parser.parse_args()
    language = Language.load(language=options.language)
    voices = VOICES[options.language]
    if missing := [why for why in map(why_missing, voices) if why]:
        parser.error(missing[0])
    recognizer = VoskRecognizer(SpeechModel.load(None, options.language))
    noise = noises(DATA)
    for level in LEVELS_DB:
        taken = Counter[str]()
        for text in SAID[options.language]:
            right = count = 0
            for voice in voices:
                for draw in range(options.draws if level is not None else 1):
                    sample = Sample(clip(options.clips, voice, text), text, voice, draw)
                    heard = recognizer.recognize(in_noise(sample, level, noise)).text
                    understood = language.parse(heard)
                    count += 1
                    right += language.parse(text) == understood
                    if language.parse(text) != understood:
                        taken[f"{voice}: {heard if understood is not None else 'nothing'}"] += 1
            print(f"{level_name(level)}, {text}: {right} of {count}", flush=True)
        print("  " + ("; ".join(f"{what} {n}" for what, n in sorted(taken.items())) or "all right"))


if __name__ == "__main__":
    main()
