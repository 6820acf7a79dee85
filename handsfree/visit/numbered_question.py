"""Asks by voice or keyboard which of several numbered answers is meant, before a visit begins."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from decimal import Decimal

from handsfree.language.interpreter import Language
from handsfree.language.meaning import Meaning, ReadingSaid, Word
from handsfree.recognition.port import Ears, SourceFault, Utterance
from handsfree.synthesis.port import Mouth

Show = Callable[[str, str], None]
"""Shows a line: the sentence that names who speaks ('who_tool', 'who_heard'), and the text."""


class NumberedQuestion:
    """A question with numbered answers, over the ears and the mouth of a visit.

    A number that was heard is read back and counts after 'affirm', a typed one counts at once.
    """

    def __init__(self, ears: Ears, mouth: Mouth, language: Language, show: Show) -> None:
        self._ears, self._mouth, self._language, self._show = ears, mouth, language, show

    def ask(self, question: str, answers: Sequence[str]) -> int | None:
        """The index of the chosen answer; None after 'stop', or once the source has ended."""
        w = self._language.wording
        listed = [
            f"{w.number(Decimal(number))}: {answer}."
            for number, answer in enumerate(answers, start=1)
        ]
        self._say(question, *listed)
        proposed: int | None = None
        while (heard := self._listen()) is not None:
            meaning = self._language.parse(heard.text)
            chosen = _index(meaning, len(answers))
            if proposed is not None and _is(meaning, "affirm"):
                return proposed
            if _is(meaning, "stop"):
                return None
            if chosen is not None and heard.typed:
                return chosen
            proposed = chosen
            if chosen is not None:
                self._say(w.say("numbered_read_back", answer=listed[chosen].rstrip(".")))
            elif _is(meaning, "say_again", "negative", "disregard"):
                self._say(question, *listed)
            else:
                self._say(w.say("numbered_hint", last=w.number(Decimal(len(answers)))))
        return None

    def _listen(self) -> Utterance | None:
        """The next utterance; a fault of the microphone is said, a silence is waited out."""
        while (event := self._ears.listen()) is not None:
            if isinstance(event, Utterance):
                self._show("who_heard", event.text)
                return event
            if isinstance(event, SourceFault):
                self._say(self._language.wording.say(f"fault_{event.what}"))
        return None

    def _say(self, *texts: str) -> None:
        """Shows all of the texts, and speaks them until somebody interrupts."""
        for text in texts:
            self._show("who_tool", text)
        for text in texts:
            if self._mouth.say(text).cut:
                return


def _is(meaning: Meaning | None, *kinds: str) -> bool:
    return isinstance(meaning, Word) and meaning.kind in kinds


def _index(meaning: Meaning | None, count: int) -> int | None:
    """The index that a bare number means; None for anything else."""
    match meaning:
        case ReadingSaid(subject=None, quantity=None, unit=None, value=value):
            return int(value) - 1 if value in range(1, count + 1) else None
        case _:
            return None
