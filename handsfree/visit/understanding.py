"""Finds the meaning of an utterance with the grammar, and if necessary with a second
recognition.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol

from handsfree.dialogue import sound_alikes
from handsfree.dialogue.expected_answers import expected_answers
from handsfree.dialogue.proposed_reading import Rival
from handsfree.dialogue.sentences import is_word
from handsfree.dialogue.state import State
from handsfree.job.quantity import Quantity
from handsfree.language.interpreter import Language
from handsfree.language.meaning import Meaning, ReadingSaid
from handsfree.recognition.port import Utterance
from handsfree.visit.resume import rival_of, rivals_of

if TYPE_CHECKING:  # not available on a phone
    import numpy as np
    from numpy.typing import NDArray

    Samples = NDArray[np.int16]


class RetryRecognizer(Protocol):
    """A second recognition of one whole utterance (mono, 16 kHz)."""

    def text(self, samples: Samples, *, read_back: bool, quantity: Quantity | None = None) -> str:
        """Recognizes only the expected answers.

        ``read_back`` is true if the answer is read back before it counts; ``quantity`` is the
        quantity of the expected reading.
        """
        ...

    def code(self, samples: Samples) -> str:
        """Recognizes only a controller's codes."""
        ...

    def readings(self, samples: Samples, quantity: Quantity) -> tuple[tuple[str, float], ...]:
        """Lists possible readings of a quantity, each with its cost in nats."""
        ...


@dataclass(frozen=True)
class Understood:
    """An utterance's words and meaning, values that sound alike, and other possible words.

    ``retried`` is true if the words were found only among the expected answers.
    """

    text: str
    meaning: Meaning | None
    rival: Rival | None = None
    rivals: tuple[Rival | None, ...] = ()
    may_be: tuple[str, ...] = ()
    retried: bool = False


def understand(
    utterance: Utterance, state: State, language: Language, again: RetryRecognizer | None
) -> Understood:
    """Interprets an utterance in the current state; typed text needs no recognition."""
    text, meaning, samples = utterance.text, language.parse(utterance.text), utterance.samples
    if utterance.typed:
        return Understood(text, meaning)
    retried = False
    if meaning is None and again is not None and samples is not None:
        text, meaning = _answer(text, samples, state, language, again)
        retried = meaning is not None
    rival = rival_of(language, text)
    if again is None or samples is None or not isinstance(meaning, ReadingSaid):
        return Understood(text, meaning, rival, rivals_of(language, text), retried=retried)
    weighed = [
        one
        for quantity in sound_alikes.sought(state, meaning, rival)
        for one in again.readings(samples, quantity)
    ]
    may_be = sound_alikes.may_be(state, meaning, rival, weighed, language.parse)
    return Understood(text, meaning, rival, may_be=may_be, retried=retried)


def _answer(
    text: str, samples: Samples, state: State, language: Language, again: RetryRecognizer
) -> tuple[str, Meaning | None]:
    """Tries an utterance that was not understood as the expected answer."""
    answers = expected_answers(state)
    if not answers:
        return text, None
    if answers.codes and (meaning := language.parse(shown := again.code(samples))) is not None:
        return shown, meaning
    heard = again.text(
        samples,
        read_back=answers.read_back,
        quantity=answers.reading.quantity if answers.reading else None,
    )
    meaning = language.parse(heard)
    doubtful = is_word(meaning, "affirm") and language.may_be_a_refusal(heard)
    return (heard, meaning) if answers.fits(meaning) and not doubtful else (text, None)
