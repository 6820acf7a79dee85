"""Measures the recognition of everyday words ('yes', 'okay', 'not good'), and their confusions.

    HANDSFREE_VOICES=FOLDER python -m tests.bench.everyday_words CLIPS [--language es]
    HANDSFREE_VOICES=FOLDER python -m tests.bench.everyday_words CLIPS --only 'all good,yes,no'

CLIPS is a folder that keeps the sound between runs. Each natural voice (the held-out ones, unless
``--voices`` names others) says every word in quiet, at 15 and at 10 dB in ``--draws`` pieces of
noise; the meanings are compared. Each word is decoded as at a step that asks yes or no: in the
first pass, with the rule for sentences that sound alike, and in the second pass if nothing was
understood. A bad word taken for a good one, and a good one taken for a bad one, are counted
separately.
"""

from __future__ import annotations

import argparse
from collections import Counter
from pathlib import Path

import numpy as np

from handsfree.dialogue.sentences import BAD_CASE
from handsfree.language.interpreter import Language
from handsfree.language.meaning import Choice, Meaning, Word
from handsfree.recognition.constrained_retry import ConstrainedRetry
from handsfree.recognition.recognizer import VoskRecognizer
from handsfree.recognition.speech_model import SpeechModel
from handsfree.rehearsal.natural_voice import made, why_missing
from handsfree.sample_rate import SAMPLE_RATE_HZ
from tests.bench.hearing import DATA, levels_of
from tests.bench.listening_material import Sample, Sound, in_noise, level_name, noises

SAID = {
    "en": (
        *("yes", "yeah", "yep", "no", "nope", "doesn't"),
        *("okay", "good", "all good", "works", "fine", "tight"),
        *("bad", "broken", "loose", "missing", "doesn't work", "not working"),
        *("not good", "no good", "not okay", "not fine", "not tight"),
        *("roger", "copy", "got it"),
        *("locked out", "proved dead", "not locked out", "it isn't locked out"),
        *("still live", "still hot", "it is live", "still on", "not dead", "not proved dead"),
    ),
    "es": (
        *("sí", "no", "bien", "todo bien", "está bien", "funciona"),
        *("mal", "está mal", "roto", "flojo", "falta", "no funciona", "no está bien"),
        *("recibido", "entendido"),
        *("bloqueado", "energía cero", "no está bloqueado", "no hay energía cero"),
        *("hay corriente", "todavía hay corriente", "tiene voltaje", "sigue energizado"),
    ),
}
VOICES = {"en": ("af_sarah", "am_michael", "bf_isabella", "bm_lewis"), "es": ("em_alex",)}
"""Held-out voices of each language, as in training/natural_voices.py; that module needs torch."""
LEVELS_DB = (None, 15.0, 10.0)
_SILENT, _AROUND_S = 0.01, 0.05
"""What is silence, as a share of the loudest sample, and how much of it is kept (s)."""


def main() -> None:
    """Prints how often each voice was recognized, and every confusion with its count."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n\n")[0])
    parser.add_argument("clips", type=Path)
    parser.add_argument("--language", default="en", choices=("en", "es"))
    parser.add_argument("--draws", type=int, default=3, help="pieces of noise")
    parser.add_argument("--voices", help="names of natural voices, separated by commas")
    parser.add_argument("--only", help="some of the words, separated by commas")
    parser.add_argument("--levels", type=levels_of, default=LEVELS_DB, help="such as quiet,15")
    options = parser.parse_args()
    language = Language.load(language=options.language)
    voices = tuple(options.voices.split(",")) if options.voices else VOICES[options.language]
    words = tuple(options.only.split(",")) if options.only else SAID[options.language]
    if missing := [why for why in map(why_missing, voices) if why]:
        parser.error(missing[0])
    model = SpeechModel.load(None, options.language)
    recognizer = VoskRecognizer(model, None, language.parse)
    once_more = ConstrainedRetry(language)
    noise = noises(DATA)
    for level in options.levels:
        taken, reversed_, opposite = Counter[str](), 0, 0
        for voice in voices:
            right = count = 0
            for text in words:
                sound = clip(options.clips, voice, text)
                for draw in range(options.draws if level is not None else 1):
                    sample = Sample(sound, text, voice, draw)
                    samples = in_noise(sample, level, noise)
                    said = language.parse(text)
                    heard = recognizer.recognize(samples).text
                    if language.parse(heard) is None:
                        heard = once_more.text(samples, read_back=not _takes_effect(said))
                    understood = language.parse(heard)
                    count += 1
                    right += said == understood
                    if said != understood:
                        what = heard if understood is not None else "nothing"
                        taken[f"{text} as {what}"] += 1
                    reversed_ += _is_bad(said) and _is_good(understood)
                    opposite += _is_good(said) and _is_bad(understood)
            print(f"{level_name(level)}, {voice}: {right} of {count}", flush=True)
        print(f"  bad taken for good: {reversed_}; good taken for bad: {opposite}")
        print("  " + ("; ".join(f"{what} {n}" for what, n in sorted(taken.items())) or "all right"))


def clip(folder: Path, voice: str, text: str) -> Sound:
    """Returns the word in a voice, made once and kept, without the silence around it.

    A visit cuts an utterance at the voice, too. With the silence it would be too long for an
    answer, and there would be no second pass.
    """
    file = folder / voice / f"{text.replace(' ', '-')}.npy"
    if not file.is_file():
        file.parent.mkdir(parents=True, exist_ok=True)
        np.save(file, made(voice, text))
    sound: Sound = np.load(file)
    voiced = np.flatnonzero(np.abs(sound) > _SILENT * np.abs(sound).max())
    around = round(_AROUND_S * SAMPLE_RATE_HZ)
    return sound[max(0, int(voiced[0]) - around) : int(voiced[-1]) + around]


def _takes_effect(meaning: Meaning | None) -> bool:
    """True for the words of a lock-out, which are not read back and are heard more strictly."""
    return _is(meaning, *BAD_CASE, *BAD_CASE.values())


def _is_bad(meaning: Meaning | None) -> bool:
    return _is(meaning, "not_in_order", "negative", "not_locked", "still_live")


def _is_good(meaning: Meaning | None) -> bool:
    return _is(meaning, "in_order", "affirm", "done", "locked_out", "proved_dead")


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
