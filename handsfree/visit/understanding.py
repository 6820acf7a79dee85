"""Finds the meaning of an utterance with the grammar, and with a second hearing if that helps."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Protocol

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


class RetryRecognizer(Protocol):
    """A second hearing of one whole utterance: its samples, or what its source kept of them."""

    def text(self, sound: Any, *, read_back: bool, quantity: Quantity | None = None) -> str:
        """Recognizes the words among the expected answers alone.

        ``read_back`` is whether the answer is read back before it counts, ``quantity`` the quantity
        of the expected reading.
        """
        ...

    def code(self, sound: Any) -> str:
        """Recognizes what a controller shows, and nothing else."""
        ...

    def readings(self, sound: Any, quantity: Quantity) -> tuple[tuple[str, float], ...]:
        """Lists what may have been said as a reading of a quantity, each with its cost in nats."""
        ...


@dataclass(frozen=True)
class Understood:
    """An utterance's words and meaning, values that sound alike, and other possible words.

    ``retried`` is whether the words were found only among the expected answers.
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
    """Interprets an utterance in the current state; typed text is taken as is."""
    text, meaning = utterance.text, language.parse(utterance.text)
    sound = utterance.measured if utterance.samples is None else utterance.samples
    if utterance.typed:
        return Understood(text, meaning)
    retried = False
    if meaning is None and again is not None and sound is not None:
        text, meaning = _answer(text, sound, state, language, again)
        retried = meaning is not None
    rival = rival_of(language, text)
    if again is None or sound is None or not isinstance(meaning, ReadingSaid):
        return Understood(text, meaning, rival, rivals_of(language, text), retried=retried)
    weighed = [
        one
        for quantity in sound_alikes.sought(state, meaning, rival)
        for one in again.readings(sound, quantity)
    ]
    may_be = sound_alikes.may_be(state, meaning, rival, weighed, language.parse)
    return Understood(text, meaning, rival, may_be=may_be, retried=retried)


def _answer(
    text: str, sound: Any, state: State, language: Language, again: RetryRecognizer
) -> tuple[str, Meaning | None]:
    """Tries an utterance that was not understood as the expected answer."""
    answers = expected_answers(state)
    if not answers:
        return text, None
    if answers.codes and (meaning := language.parse(shown := again.code(sound))) is not None:
        return shown, meaning
    heard = again.text(
        sound,
        read_back=answers.read_back,
        quantity=answers.reading.quantity if answers.reading else None,
    )
    meaning = language.parse(heard)
    doubtful = is_word(meaning, "affirm") and language.may_be_a_refusal(heard)
    return (heard, meaning) if answers.fits(meaning) and not doubtful else (text, None)
