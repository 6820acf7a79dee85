"""Reads back a code that the controller shows, before acting on it."""

from __future__ import annotations

from typing import ClassVar

from handsfree.controllers.guide import LEARN
from handsfree.dialogue import guide_sentences as texts
from handsfree.dialogue import guide_walk, navigation
from handsfree.dialogue.answer_set import YES_OR_NO, AnswerSet
from handsfree.dialogue.questions.families import YesNoQuestion
from handsfree.dialogue.questions.search_offer import offer
from handsfree.dialogue.state import Heard
from handsfree.dialogue.turn import Turn
from handsfree.language.meaning import CodeSaid, ReadingSaid

NO_CAUSE = "learn_ends_in_error"
"""The search for a learn cycle that failed with a code unknown to the guide."""


class CodeShownQuestion(YesNoQuestion):
    """A code that waits for 'affirm'; ``mark`` is the indication, ``clip`` the sound of the
    utterance.
    """

    expected: ClassVar[AnswerSet] = YES_OR_NO.model_copy(update={"codes": True})

    mark: str
    clip: str | None = None

    def answer(self, turn: Turn, heard: Heard) -> Heard | None:
        """Takes a code that is spelled again instead; a number alone answers nothing."""
        match heard.meaning:
            case CodeSaid():
                turn.wait_for(None)
            case ReadingSaid(quantity=None, subject=None, unit=None):
                self.repeat(turn)
                return None
        return heard

    def affirm(self, turn: Turn) -> None:
        """Says what the code means, and leads to its entry or its search."""
        turn.wait_for(None)
        code = guide_walk.code_shown(turn, self.mark, self.clip)
        learning = turn.led and guide_walk.so_far(turn).at == LEARN
        if learning:
            guide_walk.ended(turn, LEARN, "failed", mark=self.mark, clip=self.clip)
        search = code.search if code is not None else NO_CAUSE if learning else None
        again = guide_walk.came_before(turn, self.mark) or code is None
        if search is not None and again and offer(turn, search):
            return
        if turn.led and turn.guide is not None and code is not None and code.entry is not None:
            first = guide_walk.reopen(turn, turn.guide, code.entry)
            guide_walk.asked(turn, first)
        elif not turn.led:
            navigation.prompt_again(turn)

    def negative(self, turn: Turn) -> None:
        """Drops the code; the current entry is asked for again."""
        self.disregard(turn)

    def disregard(self, turn: Turn) -> None:
        """Drops the code."""
        turn.wait_for(None)
        turn.tell("dropped", "status")
        navigation.prompt_again(turn)

    def repeat(self, turn: Turn) -> None:
        """Reads the code back ('Echo four two. Yes or no?')."""
        turn.tell("guide_code", "readback", code=texts.spelled_first(turn.words, self.mark))
