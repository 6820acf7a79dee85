"""Asks which of two codes was said, where their sounds are close."""

from __future__ import annotations

from typing import ClassVar

from handsfree.dialogue import guide_sentences as texts
from handsfree.dialogue.answer_set import AnswerSet
from handsfree.dialogue.questions.families import DroppableQuestion
from handsfree.dialogue.state import Heard
from handsfree.dialogue.turn import Turn
from handsfree.language.meaning import CodeSaid
from handsfree.language.wording import sentence


class WhichCodeQuestion(DroppableQuestion):
    """Two codes that one utterance may have been, the likelier first; neither counts yet."""

    expected: ClassVar[AnswerSet] = AnswerSet(codes=True)
    keeps_sound: ClassVar[bool] = True

    marks: tuple[str, str]

    def negative(self, turn: Turn) -> None:
        """Drops both codes, and asks for the current entry again."""
        self.disregard(turn)

    def answer(self, turn: Turn, heard: Heard) -> Heard | None:
        """Takes a code that is spelled again, one of the two or any other."""
        if isinstance(heard.meaning, CodeSaid):
            turn.wait_for(None)
        return heard

    def repeat(self, turn: Turn) -> None:
        """Asks for one of the two ('I heard echo four two, or echo five two?')."""
        turn.say(self.hint(turn), "repair")

    def hint(self, turn: Turn) -> str:
        """The two codes, spelled."""
        w = turn.words
        one, other = (texts.spelled(w, mark) for mark in self.marks)
        return sentence(w.say("two_heard", one=one, other=other))
