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
from handsfree.job.record import Record
from handsfree.language.automaton import Automaton
from handsfree.language.meaning import Choice
from handsfree.language.meaning import Word as FixedWord
from handsfree.language.word_pair_cover import cover
from handsfree.recognition.graph_compiler import REST_FOLLOWS
from handsfree.recognition.heard_words import Recognized, Word
from handsfree.recognition.model_probe import last_complaint, probe_model
from handsfree.recognition.speech_model import UNKNOWN, SpeechModel
from handsfree.sample_rate import SAMPLE_RATE_HZ

Samples = NDArray[np.int16]
"""Mono sound at 16 kHz."""

# Digital silence can yield words, and a short first word needs sound before it.
_PAD_S = 0.5
_NOISE_RMS = 4.0  # of 32768: -78 dBFS, below the floor of any room
_NOISE_SEED = 1

_OTHER_SPEECH_COUNT = 30

CLOSE_NATS = 0.7
"""Difference in cost below which two sentences of different meaning are indistinguishable, so that
neither is accepted. Chosen on natural voices kept for it (docs/speech-model.md).
"""
ASSENT_NATS = 6.0
"""The same between an assent and any other sentence, because a refusal heard as assent does more
harm than a question. See docs/speech-model.md for how it was chosen; the lattice-beam in the
model's conf/model.conf must not be smaller.
"""
_COMPARED = 30


class Alternative(Record):
    """One possible interpretation of an utterance with its cost in nats; lower is likelier.

    ``sounds`` counts its phones of other speech.
    """

    heard: Recognized
    cost: float
    sounds: int


class Recognizer(Protocol):
    """Recognizes one utterance at a time."""

    def recognize(self, samples: Samples) -> Recognized:
        """Returns the words of one whole utterance (mono, 16 kHz)."""
        ...


class VoskRecognizer:
    """Recognizes with Vosk and a speech model, which is loaded once and shared.

    ``automaton`` is the grammar. A dynamic model receives it here; a static one has it compiled in.
    Vosk ends the process on a damaged dynamic model, so such a model is first opened in another
    process. ``meaning`` maps words to their meaning, None if they are not a sentence; with it, an
    utterance that could equally be a sentence of another meaning is not understood.
    ``opposites_far`` requires the same distance between a refusal and an assent as between an
    assent and anything else.
    """

    def __init__(
        self,
        model: SpeechModel,
        automaton: Automaton | None = None,
        meaning: Callable[[str], object] | None = None,
        *,
        opposites_far: bool = False,
    ) -> None:
        """Raises ModelError if Vosk cannot open the model or the model lacks words."""
        vosk.SetLogLevel(-1)
        self.model = model
        self._meaning = meaning
        self._opposites_far = opposites_far
        self._grammar = runtime_grammar(model, automaton)
        if self._grammar is not None:
            probe_model(model.folder, self._grammar)
        try:
            with _stderr_kept() as complaints:
                self._vosk = vosk.Model(str(model.folder))
                self._new_search()
        except Exception as error:  # the binding raises nothing more specific
            reason = last_complaint(complaints)
            raise ModelError(
                f"Vosk cannot open this speech model{f': {reason}' if reason else ''}",
                file=model.folder,
                way_out="one of its files is damaged: install or build the model again",
            ) from error

    def recognize(self, samples: Samples) -> Recognized:
        """Returns the words of one whole utterance; partial results are ignored."""
        if self._meaning is not None:
            found = self.alternatives(samples, _COMPARED)
            return told_apart(found, self._meaning, opposites_far=self._opposites_far)
        search = self._new_search()
        search.AcceptWaveform(_padded(samples).tobytes())
        best: dict[str, Any] = json.loads(search.FinalResult())["alternatives"][0]
        length_s = len(samples) / SAMPLE_RATE_HZ
        return _recognized(best.get("result", []), length_s)

    def alternatives(self, samples: Samples, most: int) -> tuple[Alternative, ...]:
        """Lists up to ``most`` interpretations of one whole utterance, the likeliest first.

        The model's conf/model.conf (lattice-beam) limits how much more they may cost than the
        first.
        """
        search = self._new_search(most)
        search.AcceptWaveform(_padded(samples).tobytes())
        length_s = len(samples) / SAMPLE_RATE_HZ
        found = []
        for each in json.loads(search.FinalResult())["alternatives"]:
            result = each.get("result", [])
            sounds = sum(entry["word"].startswith("[") for entry in result)
            heard = _recognized(result, length_s)
            found.append(Alternative(heard=heard, cost=-each["confidence"], sounds=sounds))
        return tuple(found)

    def _new_search(self, alternatives: int = 1) -> Any:
        grammar = () if self._grammar is None else (self._grammar,)
        search = vosk.KaldiRecognizer(self._vosk, SAMPLE_RATE_HZ, *grammar)
        search.SetMaxAlternatives(alternatives)  # the default, minimum Bayes risk, scores lower
        search.SetWords(True)
        return search


def told_apart(
    found: Sequence[Alternative],
    meaning: Callable[[str], object],
    *,
    opposites_far: bool = False,
) -> Recognized:
    """Returns the likeliest result, or other speech if another meaning is about as likely.

    An assent is refused even if another sentence is only nearly as likely; with ``opposites_far``
    a refusal is too, if an assent is.
    """
    likeliest = found[0]
    meant = meaning(likeliest.heard.text)
    assents, refuses = _is_assent(meant), opposites_far and _is_refusal(meant)
    for other in found[1:]:
        over = other.cost - likeliest.cost
        if meant is None or over >= (ASSENT_NATS if assents or refuses else CLOSE_NATS):
            break
        instead = meaning(other.heard.text)
        if instead in (None, meant):
            continue
        if over < CLOSE_NATS or _is_assent(instead) is not assents:
            words = likeliest.heard.words
            whole = Word(word=UNKNOWN, start_s=words[0].start_s, end_s=words[-1].end_s)
            return Recognized(text=UNKNOWN, words=(whole,))
    return likeliest.heard


def _is_assent(meant: object) -> bool:
    """True for 'yes' and similar words, and for statements that something is good."""
    match meant:
        case FixedWord(kind="affirm") | Choice(value="in_order"):
            return True
        case _:
            return False


def _is_refusal(meant: object) -> bool:
    """True for 'no' and its like, and for what says that something is bad."""
    match meant:
        case FixedWord(kind="negative") | Choice(value="not_in_order"):
            return True
        case _:
            return False


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
    """Phrases from which Vosk makes its bigrams; it allows others at a cost.

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


def _padded(samples: Samples) -> Samples:
    pad = round(_PAD_S * SAMPLE_RATE_HZ)
    noise = np.random.default_rng(_NOISE_SEED).normal(0, _NOISE_RMS, len(samples) + 2 * pad)
    noise[pad : pad + len(samples)] += leveled(samples)
    return np.clip(np.rint(noise), -32768, 32767).astype(np.int16)


def _recognized(result: list[dict[str, Any]], length_s: float) -> Recognized:
    """Converts Vosk's words to the time of the unpadded sound and merges other speech."""
    words: list[Word] = []
    for entry in result:
        name = UNKNOWN if entry["word"].startswith("[") else entry["word"]
        start, end = (
            round(min(max(entry[key] - _PAD_S, 0.0), length_s), 3) for key in ("start", "end")
        )
        if name == UNKNOWN and words and words[-1].word == UNKNOWN:
            words[-1] = words[-1].model_copy(update={"end_s": end})
        else:
            words.append(Word(word=name, start_s=start, end_s=end))
    return Recognized(text=" ".join(word.word for word in words), words=tuple(words))


@contextmanager
def _stderr_kept() -> Iterator[list[str]]:
    """Captures the stderr of native code, where Vosk reports some errors.

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
