"""A Whisper network run by CTranslate2 (both MIT) in this process."""

from __future__ import annotations

import json
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

from handsfree.errors import SecondEarError
from handsfree.sample_rate import SAMPLE_RATE_HZ
from handsfree.second_ear.log_mel import BANDS, LONGEST_S, log_mel
from handsfree.second_ear.weights import VOCABULARIES, WAY_OUT, english_only

if TYPE_CHECKING:
    from handsfree.second_ear.port import Samples

BEAM = 5
LONGEST_TOKENS = 224
"""Limit of prompt and text together (tokens); the text may be half of it, and 30 s of speech are
about 100. It stops a network that repeats itself.
"""
CONTEXT = (
    *("Ġleaf", "Ġplate", "Ġwidth", "Ġweight", "Ġheight", "Ġforce", "Ġsign", "Ġnew", "ton"),
    *("Ġl", "atching", "Ġback", "check", "Ġdecimal", "Ġpoint"),
    *("Ġ6", ".", "2", "Ġfour", "Ġ12", "Ġtwo", "Ġ150", "Ġseconds"),
)
"""Prompt text in the network's tokens: trade words that sound like commoner ones, and numbers in
every notation. docs/second-ear.md shows its effect.
"""
NO_SPEECH, UNLIKELY = 0.6, -1.0
"""No-speech thresholds: the network's no-speech probability, and the mean log probability of the
words. Both from the network's published decoding (Radford et al. 2022, section 4.5).
"""


class Whisper:
    """The network of one folder, with or without the words of the trade as a prompt.

    Raises SecondEarError if it cannot be used.
    """

    def __init__(self, folder: Path, language: str, *, in_context: bool = True) -> None:
        try:
            import ctranslate2
        except ImportError as error:
            raise SecondEarError(
                "the package ctranslate2 is not installed",
                way_out="pip install 'handsfree[second-ear]'",
            ) from error
        self._to_view = ctranslate2.StorageView.from_array
        try:
            self._network = ctranslate2.models.Whisper(
                str(folder), device="cpu", compute_type="int8", inter_threads=1, intra_threads=1
            )
            several, bands = self._network.is_multilingual, self._network.n_mels
        except (RuntimeError, ValueError, MemoryError) as error:
            raise SecondEarError(
                f"the second ear's weights cannot be used: {_first_line(error)}",
                file=folder,
                way_out=WAY_OUT,
            ) from error
        if bands != BANDS:
            raise SecondEarError(
                f"the second ear needs a network with {BANDS} bands; this one has {bands}",
                file=folder,
                way_out="name a folder with Whisper tiny, base, small or medium",
            )
        if not several and language != "en":
            raise english_only(language, folder)
        known = _tokens(folder) if in_context and language == "en" else frozenset()
        context = [token for token in CONTEXT if token in known]
        self._begin = ["<|startofprev|>", *context] if context else []
        self._begin += ["<|startoftranscript|>"]
        if several:
            self._begin += [f"<|{language}|>", "<|transcribe|>"]
        self._begin += ["<|notimestamps|>"]

    def text(self, samples: Samples) -> str:
        """Transcribes an utterance (mono, 16 kHz), in pieces of 30 s."""
        step = LONGEST_S * SAMPLE_RATE_HZ
        pieces = [samples[start : start + step] for start in range(0, len(samples), step)]
        return " ".join(filter(None, map(self._text, pieces)))

    def _text(self, samples: Samples) -> str:
        if not samples.any():
            return ""
        features = self._to_view(log_mel(samples)[None])
        (found,) = self._network.generate(
            features,
            [self._begin],
            beam_size=BEAM,
            max_length=LONGEST_TOKENS,
            return_scores=True,
            return_no_speech_prob=True,
        )
        if found.no_speech_prob > NO_SPEECH and found.scores[0] < UNLIKELY:
            return ""
        return text_of(found.sequences[0])


def text_of(tokens: list[str]) -> str:
    """Decodes byte-pair tokens, whose letters each stand for one byte."""
    letters = _bytes_by_letter()
    spelled = "".join(token for token in tokens if not token.startswith("<|"))
    return bytes(letters[letter] for letter in spelled).decode("utf-8", "replace").strip()


def _tokens(folder: Path) -> frozenset[str]:
    """Reads the vocabulary of a network; empty if it cannot be read."""
    for name in VOCABULARIES:
        try:
            text = (folder / name).read_text(encoding="utf-8")
            return frozenset(json.loads(text) if name.endswith(".json") else text.split("\n"))
        except (OSError, ValueError):
            continue
    return frozenset()


@cache
def _bytes_by_letter() -> dict[str, int]:
    """Maps each letter to its byte: printable bytes map to themselves, the rest start at U+0100.

    As published with GPT-2's tokens, which Whisper uses (Radford et al. 2019, 2022).
    """
    plain = [*range(0x21, 0x7F), *range(0xA1, 0xAD), *range(0xAE, 0x100)]
    others = [byte for byte in range(256) if byte not in plain]
    return {chr(byte): byte for byte in plain} | {chr(256 + n): b for n, b in enumerate(others)}


def _first_line(error: BaseException) -> str:
    lines = str(error).strip().splitlines()
    return json.dumps(lines[0])[1:-1] if lines else type(error).__name__
