"""Turns sound into words. The result is a proposal: the grammar decides."""

from __future__ import annotations

import json
import os
import sys
import tempfile
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from typing import Any, Protocol

import numpy as np
import vosk
from numpy.typing import NDArray

from handsfree.audio.levels import leveled
from handsfree.errors import ModelError
from handsfree.language.automaton import Automaton
from handsfree.language.word_pair_cover import cover
from handsfree.recognition.close_calls import (
    COMPARED,
    PAD_S,
    Alternative,
    alternatives_of,
    reject_close_call,
)
from handsfree.recognition.graph_compiler import REST_FOLLOWS
from handsfree.recognition.heard_words import Recognized, Word
from handsfree.recognition.model_probe import last_complaint, probe_model
from handsfree.recognition.speech_model import UNKNOWN, SpeechModel
from handsfree.sample_rate import SAMPLE_RATE_HZ

Samples = NDArray[np.int16]
"""Mono sound at 16 kHz."""

_NOISE_RMS = 4.0  # of 32768: -78 dBFS, below the floor of any room
_NOISE_SEED = 1

_OTHER_SPEECH_COUNT = 30


class Recognizer(Protocol):
    """Recognizes one utterance at a time."""

    def recognize(self, samples: Samples) -> Recognized:
        """Returns the words of one whole utterance (mono, 16 kHz)."""
        ...


class VoskRecognizer:
    """Recognizes with Vosk and a speech model, which is loaded once and shared.

    ``automaton`` is the grammar. A dynamic model receives it here; a static one has it compiled in.
    Vosk ends the process over a damaged dynamic model, so such a model is first tried in another
    process. ``meaning`` returns the meaning of a sentence, None for anything else. With it, an
    utterance is rejected if a sentence of another meaning is about as likely.
    """

    def __init__(
        self,
        model: SpeechModel,
        automaton: Automaton | None = None,
        meaning: Callable[[str], object] | None = None,
    ) -> None:
        """Raises ModelError if Vosk cannot open the model or the model lacks words."""
        vosk.SetLogLevel(-1)
        self.model = model
        self._meaning = meaning
        self._grammar = runtime_grammar(model, automaton)
        if self._grammar is not None:
            probe_model(model.folder, self._grammar)
        try:
            with _stderr_kept() as complaints:
                self._vosk = vosk.Model(str(model.folder))
                self._new_search()
        except Exception as error:  # the binding raises nothing narrower
            reason = last_complaint(complaints)
            raise ModelError(
                f"Vosk cannot open this speech model{f': {reason}' if reason else ''}",
                file=model.folder,
                way_out="one of its files is damaged: install or build the model again",
            ) from error

    def recognize(self, samples: Samples) -> Recognized:
        """Returns the words of one whole utterance; partial results are ignored."""
        if self._meaning is not None:
            return reject_close_call(self.alternatives(samples, COMPARED), self._meaning)
        return self.alternatives(samples, 1)[0].heard

    def alternatives(self, samples: Samples, most: int) -> tuple[Alternative, ...]:
        """Lists up to ``most`` alternatives of one whole utterance, the likeliest first.

        The model's conf/model.conf (lattice-beam) limits how much more they may cost than the
        first.
        """
        search = self._new_search(most)
        search.AcceptWaveform(padded(samples).tobytes())
        return alternatives_of(search.FinalResult(), len(samples) / SAMPLE_RATE_HZ)

    def _new_search(self, alternatives: int = 1) -> Any:
        grammar = () if self._grammar is None else (self._grammar,)
        search = vosk.KaldiRecognizer(self._vosk, SAMPLE_RATE_HZ, *grammar)
        search.SetMaxAlternatives(alternatives)  # the default, minimum Bayes risk, scores lower
        search.SetWords(True)
        return search


def runtime_grammar(model: SpeechModel, automaton: Automaton | None) -> str | None:
    """Builds the grammar that Vosk receives at startup; None for a static model.

    Vosk silently drops words that the model lacks, so ModelError names them here.
    """
    if automaton is not None:
        model.require_words(word for _, word, _ in automaton.arcs)
    if model.kind == "static":
        return None
    if automaton is None:
        raise ValueError("a dynamic model needs an automaton of what can be said")
    return json.dumps(_phrases(automaton))


def _phrases(automaton: Automaton) -> list[str]:
    """Phrases from which Vosk makes its bigrams: it allows those it saw, and others at a cost.

    Measured on 60 sentences of a synthetic voice and 170 human recordings, quiet and at 15 dB:
    whole short sentences are recognized better than bare pairs of words (single human words 18 of
    22, pairs 13), sentences drawn at random add nothing, and other speech listed 30 times is taken
    for a command as rarely as by the static graph (300 times: a third as often, but 3 of 60
    sentences more are lost).
    """
    rest = [f"{word} {UNKNOWN}" for _, word, _ in automaton.arcs if word in REST_FOLLOWS]
    return [*cover(automaton), *rest[:1], *[UNKNOWN] * _OTHER_SPEECH_COUNT]


class FakeRecognizer:
    """A recognizer that returns prepared texts in order, then nothing."""

    def __init__(self, texts: Sequence[str]) -> None:
        self._texts = list(texts)

    def recognize(self, samples: Samples) -> Recognized:
        """Returns the next text with its words spread evenly over the sound."""
        text = self._texts.pop(0) if self._texts else ""
        words = text.split()
        step = len(samples) / SAMPLE_RATE_HZ / max(len(words), 1)
        return Recognized(
            text=text,
            words=tuple(
                Word(word=word, start_s=i * step, end_s=(i + 1) * step)
                for i, word in enumerate(words)
            ),
        )


def soft_noise(count: int) -> NDArray[np.float64]:
    """Returns the first samples of the noise under every utterance, always the same."""
    return np.random.default_rng(_NOISE_SEED).normal(0, _NOISE_RMS, count)


def padded(samples: Samples) -> Samples:
    """Prepares one utterance for the recognizer: at the model's level, in soft noise."""
    pad = round(PAD_S * SAMPLE_RATE_HZ)
    noise = soft_noise(len(samples) + 2 * pad)
    noise[pad : pad + len(samples)] += leveled(samples)
    return np.clip(np.rint(noise), -32768, 32767).astype(np.int16)


@contextmanager
def _stderr_kept() -> Iterator[list[str]]:
    """Captures what native code writes to stderr: Vosk reports some errors only there.

    The list is filled when the block ends.
    """
    lines: list[str] = []
    sys.stderr.flush()
    stderr = os.dup(2)
    with tempfile.TemporaryFile() as kept:
        os.dup2(kept.fileno(), 2)
        try:
            yield lines
        finally:
            os.dup2(stderr, 2)
            os.close(stderr)
            kept.seek(0)
            lines += kept.read().decode(errors="replace").splitlines()
