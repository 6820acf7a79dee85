"""Finds the meaning of an utterance with the grammar, and with a second hearing if that helps."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Protocol

from handsfree.dialogue import sound_alikes
from handsfree.dialogue.expected_answers import expected_answers
from handsfree.dialogue.proposed_reading import Rival
from handsfree.dialogue.sentences import is_word
from handsfree.dialogue.state import State
from handsfree.job.quantity import Quantity
from handsfree.language.interpreter import Language
from handsfree.language.meaning import CodeSaid, Meaning, ReadingSaid
from handsfree.recognition.port import Utterance
from handsfree.visit.resume import rival_of, rivals_of

CLOSE_CODE_NATS = 2.0
"""Difference in cost below which two codes are indistinguishable, so that the tool asks which it
was. See docs/controllers.md.
"""


class RetryRecognizer(Protocol):
    """A second recognition of one whole utterance: its samples, or what its source kept of them."""

    def text(self, sound: Any, *, read_back: bool, quantity: Quantity | None = None) -> str:
        """Recognizes only the expected answers.

        ``read_back`` is true if the answer is read back before it counts; ``quantity`` is the
        quantity of the expected reading.
        """
        ...

    def codes(self, sound: Any) -> tuple[tuple[str, float], ...]:
        """Lists the codes that a controller may show, each with its cost in nats."""
        ...

    def readings(self, sound: Any, quantity: Quantity) -> tuple[tuple[str, float], ...]:
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
    text, meaning = utterance.text, language.parse(utterance.text)
    sound = utterance.measured if utterance.samples is None else utterance.samples
    if utterance.typed:
        return Understood(text, meaning)
    retried = False
    other: tuple[str, ...] = ()
    if meaning is None and again is not None and sound is not None:
        text, meaning, other = _answer(text, sound, state, language, again)
        retried = meaning is not None
    rival = rival_of(language, text)
    if again is None or sound is None or not isinstance(meaning, ReadingSaid):
        rivals = rivals_of(language, text)
        return Understood(text, meaning, rival, rivals, may_be=other, retried=retried)
    weighed = [
        one
        for quantity in sound_alikes.quantities_to_compare(state, meaning, rival)
        for one in again.readings(sound, quantity)
    ]
    may_be = sound_alikes.may_be(state, meaning, rival, weighed, language.parse)
    return Understood(text, meaning, rival, may_be=may_be, retried=retried)


def _answer(
    text: str, sound: Any, state: State, language: Language, again: RetryRecognizer
) -> tuple[str, Meaning | None, tuple[str, ...]]:
    """Tries an utterance that was not understood as the expected answer.

    The last of the three is another code that it may as well have been.
    """
    answers = expected_answers(state)
    if not answers:
        return text, None, ()
    if answers.codes and (code := code_among(again.codes(sound), language)) is not None:
        return code
    heard = again.text(
        sound,
        read_back=answers.read_back,
        quantity=answers.reading.quantity if answers.reading else None,
    )
    meaning = language.parse(heard)
    doubtful = is_word(meaning, "affirm") and language.may_be_a_refusal(heard)
    return (heard, meaning, ()) if answers.fits(meaning) and not doubtful else (text, None, ())


def code_among(
    found: Sequence[tuple[str, float]], language: Language
) -> tuple[str, Meaning, tuple[str, ...]] | None:
    """The likeliest code with one that is as likely, or None if other speech is likelier."""
    if not found or (meaning := language.parse(found[0][0])) is None:
        return None
    text, least = found[0]
    for other, cost in found[1:]:
        if cost - least >= CLOSE_CODE_NATS:
            break
        if isinstance(instead := language.parse(other), CodeSaid) and instead != meaning:
            return text, meaning, (other,)
    return text, meaning, ()
