"""Base classes for questions that accept the same kind of answer."""

from __future__ import annotations

from typing import ClassVar

from handsfree.dialogue import navigation, sentences
from handsfree.dialogue.answer_set import LEAVES, YES_OR_NO, AnswerSet
from handsfree.dialogue.questions.question import Question
from handsfree.dialogue.turn import Turn
from handsfree.job.reading import Subject

LEAF_CHOICES = {
    "left": Subject.LEFT_LEAF,
    "right": Subject.RIGHT_LEAF,
    "both": Subject.BOTH_LEAVES,
}
"""The leaves that an answer may name, by the value of the choice."""


class DroppableQuestion(Question):
    """A question that can be dropped with 'negative' or 'disregard'."""

    def negative(self, turn: Turn) -> None:
        """Drops the question and says what answers fit the step."""
        turn.wait_for(None)
        turn.say(f"{turn.words.say('dropped')} {turn.step_hint}".rstrip(), "repair")
        if turn.between:
            navigation.go_on(turn)

    def disregard(self, turn: Turn) -> None:
        """Drops the question and returns to the current task."""
        turn.wait_for(None)
        turn.tell("dropped", "status")
        navigation.prompt_again(turn)


class YesNoQuestion(DroppableQuestion):
    """A question answered by 'affirm' or 'negative'."""

    expected: ClassVar[AnswerSet] = YES_OR_NO
    yes_or_no: ClassVar[bool] = True

    def hint(self, turn: Turn) -> str:
        """A hint at the two answers ('Say affirm or negative.')."""
        return turn.words.say("affirm_or_negative")

    def other_words(self, turn: Turn) -> str:
        """'Yes' and 'no', or the keyboard."""
        return turn.words.say("yes_or_type")


class LeafQuestion(DroppableQuestion):
    """A question about the leaf: left, right or both."""

    expected: ClassVar[AnswerSet] = LEAVES

    def hint(self, turn: Turn) -> str:
        """A hint that a leaf is expected ('Which leaf, left or right?')."""
        return turn.words.say("which_leaf")

    def other_words(self, turn: Turn) -> str:
        """Other words for the two leaves."""
        w = turn.words
        return sentences.other_words(w, [w.name("word", "left"), w.name("word", "right")])


class ValueQuestion(DroppableQuestion):
    """A question for a value that was confused with others."""

    takes_number: ClassVar[bool] = True

    def hint(self, turn: Turn) -> str:
        """A hint for giving the number ('Spell the number digit by digit, or type it.')."""
        return turn.words.say("spell_or_type")

    def other_words(self, turn: Turn) -> str:
        """Digit by digit, or the keyboard."""
        return turn.words.say("spell_or_type")


class FreeWordsQuestion(DroppableQuestion):
    """A question that takes the next utterance verbatim, with its sound."""

    free_words: ClassVar[bool] = True
    keeps_sound: ClassVar[bool] = True
