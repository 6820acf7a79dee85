"""The natural voices of the training: their names, their mixes, and the phonemization of texts.

A style vector has two halves, timbre and speaking style, and both can be mixed from several voices:
a few dozen voices become hundreds of speakers. Voices reserved for development and for the bench
are never part of a mix.
"""

from __future__ import annotations

import ctypes
import gzip
import json
import shutil
from collections.abc import Iterable, Sequence
from pathlib import Path
from random import Random
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from handsfree.training.kokoro_network import Saying, Weighted
from handsfree.training.kokoro_weights import read_export, write_parts

RESERVED = ("af_heart", "am_puck", "bf_emma", "bm_george")
"""Voices reserved for independent judging: never used here, not even to measure."""
HELD_OUT = ("af_sarah", "am_michael", "bf_isabella", "bm_lewis")
"""Voices of the bench, of both sexes and both accents: never used to train or tune."""
DEVELOPMENT = ("af_alloy", "am_fenrir", "bf_alice")
"""Voices used to choose parameters, never to train."""
HELD_OUT_SPANISH = ("em_alex", "af_sarah", "am_michael")
"""Held-out voices for Spanish: a native one, and two American ones that speak Spanish phonemes."""
DEVELOPMENT_SPANISH = ("em_santa", "af_alloy")

_ENGLISH = (
    *("af_aoede", "af_bella", "af_jessica", "af_kore", "af_nicole", "af_nova", "af_river"),
    *("af_sky", "am_adam", "am_echo", "am_eric", "am_liam", "am_onyx", "am_santa"),
    *("bf_lily", "bm_daniel", "bm_fable"),
)
_ROMANCE = ("ef_dora", "ff_siwis", "if_sara", "im_nicola", "pf_dora", "pm_alex", "pm_santa")
_OTHERS = (
    *("hf_alpha", "hf_beta", "hm_omega", "hm_psi", "jf_alpha", "jm_kumo"),
    *("zf_xiaobei", "zm_yunjian", "zm_yunxi", "zm_yunxia", "zm_yunyang"),
)
_MEN = tuple(name for name in _ENGLISH if name[1] == "m")
_BRITISH = tuple(name for name in _ENGLISH if name[0] == "b")
MIXED = {
    "en": (
        (0.34, _ENGLISH),
        (0.26, _MEN),
        (0.24, _BRITISH),
        (0.16, (*_ROMANCE, "em_alex", "em_santa", *_OTHERS)),
    ),
    "es": ((0.45, ("ef_dora",)), (0.30, _ROMANCE), (0.25, _ENGLISH)),
}
"""Voice groups by language: the probability with which a voice of a mix is drawn from each."""

T = TypeVar("T")

STYLE_ROWS, STYLE_SIZE, LONGEST_TOKENS = 510, 256, 200
# espeak-ng calls British English 'en'.
_ACCENTS = {"en": (("en-us", 0.6), ("en", 0.4)), "es": (("es-419", 0.7), ("es", 0.3))}
_ENDINGS = ((".", 0.6), ("", 0.25), ("!", 0.05), ("?", 0.10))
_BEYOND = 0.2
"""Share of the mixes in which the last voice is subtracted."""
_IPA, _UTF8 = 0x02, 1


def all_voices() -> tuple[str, ...]:
    """Every usable voice, sorted; a voice's position is its number."""
    named = {name for mixes in MIXED.values() for _, names in mixes for name in names}
    named |= {*HELD_OUT, *DEVELOPMENT, *HELD_OUT_SPANISH, *DEVELOPMENT_SPANISH}
    return tuple(sorted(named - set(RESERVED)))


def carry(source: Path, out: Path, texts: Sequence[str], language: str, rng: Random) -> None:
    """Collects everything that ``handsfree.training.natural`` needs in one folder that can be
    copied.

    ``source`` holds kokoro.onnx, config.json, voices/NAME.bin and the modules in kokoro/
    (docs/speech-model.md names their sources).
    """
    said = sayings(texts, language, Phonemizer.load(source / "config.json"), rng)
    carry_sayings(source, out, texts, said)
    (out / "kokoro").mkdir(parents=True, exist_ok=True)
    for name in ("modules", "istftnet", "custom_stft"):
        shutil.copy(source / "kokoro" / f"{name}.py", out / "kokoro")
    (out / "kokoro" / "__init__.py").touch()
    write_parts(read_export(source / "kokoro.onnx"), out)


def carry_sayings(source: Path, out: Path, texts: Sequence[str], said: Sequence[Saying]) -> None:
    """Writes the utterances (sayings.jsonl.gz) and the styles of the voices (styles.npy)."""
    out.mkdir(parents=True, exist_ok=True)
    # No text has more tokens than that, and half precision exceeds that of the voices.
    kept = styles(source / "voices", all_voices())[:, : LONGEST_TOKENS + 1]
    np.save(out / "styles.npy", kept.astype(np.float16))
    with gzip.open(out / "sayings.jsonl.gz", "wt", encoding="utf-8") as file:
        for each in said:
            row = [texts[each.number], each.tokens, each.timbre, each.manner]
            file.write(json.dumps([*row, each.speed, each.pitch], separators=(",", ":")) + "\n")


def read_sayings(folder: Path) -> tuple[list[str], list[Saying]]:
    """Reads the texts and how each is spoken; an utterance has the number of its text."""
    texts, said = [], []
    with gzip.open(folder / "sayings.jsonl.gz", "rt", encoding="utf-8") as file:
        for number, line in enumerate(file):
            text, tokens, timbre, manner, speed, pitch = json.loads(line)
            texts.append(text)
            said.append(
                Saying(number, tuple(tokens), _weighted(timbre), _weighted(manner), speed, pitch)
            )
    return texts, said


def _weighted(rows: list[list[float]]) -> Weighted:
    return tuple((int(voice), share) for voice, share in rows)


def styles(folder: Path, names: Sequence[str]) -> NDArray[np.float32]:
    """The style vectors (voices, 510, 256) from NAME.bin files."""
    return np.stack(
        [
            np.fromfile(folder / f"{name}.bin", "<f4").reshape(STYLE_ROWS, STYLE_SIZE)
            for name in names
        ]
    )


class Phonemizer:
    """Converts text to tokens by calling espeak-ng's library directly."""

    def __init__(self, vocabulary: dict[str, int]) -> None:
        import espeakng_loader

        self._vocabulary = vocabulary
        self._library = ctypes.CDLL(espeakng_loader.get_library_path())
        data = str(Path(espeakng_loader.get_data_path()).parent)
        self._library.espeak_Initialize(1, 0, data.encode(), 0)
        convert = self._library.espeak_TextToPhonemes
        convert.restype = ctypes.c_char_p
        convert.argtypes = [ctypes.POINTER(ctypes.c_char_p), ctypes.c_int, ctypes.c_int]
        self._accent = ""

    @classmethod
    def load(cls, config: Path) -> Phonemizer:
        """Creates a phonemizer with the symbols of a voice's config.json."""
        return cls(json.loads(config.read_text(encoding="utf-8"))["vocab"])

    def tokens(self, text: str, accent: str) -> tuple[int, ...]:
        """The tokens of a text, with or without a final punctuation mark."""
        end = text[-1:] if text[-1:] in ".!?" else ""
        if accent != self._accent:
            if self._library.espeak_SetVoiceByName(accent.encode()) != 0:
                raise ValueError(f"espeak-ng has no voice '{accent}'")
            self._accent = accent
        said = ctypes.c_char_p(text.removesuffix(end).encode())
        parts = []
        while said.value:
            parts.append(self._library.espeak_TextToPhonemes(ctypes.byref(said), _UTF8, _IPA))
        phonemes = " ".join(part.decode() for part in parts) + end
        return tuple(self._vocabulary[p] for p in phonemes if p in self._vocabulary)


def sayings(
    texts: Iterable[str], language: str, phonemizer: Phonemizer, rng: Random
) -> list[Saying]:
    """Draws the accent, speakers, speed and pitch for each text; each saying has the number of its
    text.
    """
    names = all_voices()
    found = []
    for number, text in enumerate(texts):
        accent = _drawn(_ACCENTS[language], rng)
        tokens = phonemizer.tokens(text + _drawn(_ENDINGS, rng), accent)
        timbre = _mix(language, names, rng)
        manner = timbre if rng.random() < 0.6 else _mix(language, names, rng)
        speed = round(rng.uniform(0.78, 1.32), 2)
        pitch = round(2 ** rng.uniform(-0.52, 0.34), 3)
        if 3 <= len(tokens) <= LONGEST_TOKENS:
            found.append(Saying(number, tokens, timbre, manner, speed, pitch))
    return found


def said_by(voice: str, number: int, tokens: tuple[int, ...], speed: float) -> Saying:
    """A text said by one unmixed voice."""
    only: Weighted = ((all_voices().index(voice), 1.0),)
    return Saying(number, tokens, only, only, speed)


def _mix(language: str, names: tuple[str, ...], rng: Random) -> Weighted:
    """One to three voices with their shares; a few mixes extrapolate beyond the existing voices."""
    groups = [(group, share) for share, group in MIXED[language]]
    drawn = [rng.choice(_drawn(groups, rng)) for _ in range(rng.choice((1, 2, 2, 3, 3)))]
    shares = [rng.gammavariate(1.2, 1) for _ in drawn]
    if len(shares) > 1 and rng.random() < _BEYOND:  # away from the last voice
        shares[-1] = -sum(shares[:-1]) * rng.uniform(0.1, 0.3)
    total = sum(shares)
    return tuple(
        (names.index(name), round(share / total, 3))
        for name, share in zip(drawn, shares, strict=True)
    )


def _drawn(weighted: Sequence[tuple[T, float]], rng: Random) -> T:
    (one,) = rng.choices([each for each, _ in weighted], [share for _, share in weighted])
    return one
