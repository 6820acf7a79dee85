"""Measures the recognition of codes (letters of the radio alphabet, digits), in quiet and in noise.

    python -m tests.bench.codes flite:slt flite:rms --codes 40

Voices are those of handsfree.rehearsal.synthetic_voices ('natural:NAME' with HANDSFREE_VOICES). The
codes are drawn at random: one to three letters and digits. A code that is not understood is
compared again with codes alone, as in a visit with a guide. The bench counts codes recognized
correctly, questions that name the right code ('I heard echo four two, or echo five two?'), and
codes taken for another one, which a visit would read back before acting on them.
"""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from random import Random

from handsfree.language.interpreter import Language
from handsfree.language.meaning import CodeSaid, Meaning
from handsfree.recognition.constrained_retry import ConstrainedRetry
from handsfree.recognition.recognizer import VoskRecognizer
from handsfree.recognition.speech_model import SpeechModel
from handsfree.rehearsal.synthetic_voices import SyntheticVoices
from handsfree.visit.understanding import code_among
from tests.bench.hearing import DATA
from tests.bench.listening_material import Sample, in_noise, level_name, noises

LEVELS_DB = (None, 10.0)
SIGNS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789"
SAY = {"en": "it shows", "es": "muestra"}


def drawn(count: int, rng: Random) -> list[str]:
    """Draws codes of one to three characters, no two alike."""
    codes: set[str] = set()
    while len(codes) < count:
        codes.add("".join(rng.choice(SIGNS) for _ in range(rng.choice((1, 2, 2, 3)))))
    return sorted(codes)


def main() -> None:
    """Prints one row for each voice."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n\n")[0])
    parser.add_argument("voices", nargs="+")
    parser.add_argument("--codes", type=int, default=40)
    parser.add_argument("--language", default="en", choices=sorted(SAY))
    asked = parser.parse_args()
    language = Language.load(language=asked.language)
    model = SpeechModel.load(language=asked.language)
    recognizer = VoskRecognizer(model, meaning=language.parse)
    again = ConstrainedRetry(language)
    spelled = {**language.wording.names["letter"], **language.wording.names["digit"]}
    speaker, noise = SyntheticVoices(), noises(DATA)
    codes = drawn(asked.codes, Random(25))
    print(f"{'voice':24}" + "".join(f"{level_name(level):>36}" for level in LEVELS_DB))
    for voice in asked.voices:
        shown = []
        for level in LEVELS_DB:
            right = either = other = 0
            for code in codes:
                text = f"{SAY[asked.language]} {' '.join(spelled[s] for s in code.lower())}"
                sample = Sample(sound=speaker.say(voice, text), text=text, voice=voice)
                sound = in_noise(sample, level, noise)
                first = language.parse(recognizer.recognize(sound).text)
                heard = [first] if first is not None else _again(again.codes(sound), language)
                found = [each.code for each in heard if isinstance(each, CodeSaid)]
                right += found == [code]
                either += len(found) > 1 and code in found
                other += bool(found) and code not in found
            shown.append(f"{right} right, {either} asked, {other} other of {len(codes)}")
        print(f"{voice:24}" + "".join(f"{each:>36}" for each in shown), flush=True)


def _again(found: Sequence[tuple[str, float]], language: Language) -> list[Meaning | None]:
    """Returns what the second pass finds in the sound: nothing, a code, or two equally likely
    codes.
    """
    code = code_among(found, language)
    return [] if code is None else [code[1], *map(language.parse, code[2])]


if __name__ == "__main__":
    main()
