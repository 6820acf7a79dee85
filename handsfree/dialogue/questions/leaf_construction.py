"""Asks what a leaf is made of, if its weight is unknown."""

from __future__ import annotations

from typing import ClassVar

from handsfree.dialogue.answer_set import AnswerSet
from handsfree.dialogue.questions.families import DroppableQuestion
from handsfree.dialogue.state import Heard
from handsfree.dialogue.turn import Turn
from handsfree.job.door_feature import FEATURES
from handsfree.job.quantity import Quantity
from handsfree.job.reading import Subject
from handsfree.language.door_words import feature_question, value_name
from handsfree.language.meaning import Choice, FactSaid, Word

_FEATURE = "leaf_construction"


class LeafConstructionQuestion(DroppableQuestion):
    """Asks what a leaf is made of, to estimate its weight."""

    expected: ClassVar[AnswerSet] = AnswerSet(choices=frozenset(FEATURES[_FEATURE].values))

    admits: ClassVar[frozenset[str]] = frozenset({"skip"})

    leaf: Subject

    def answer(self, turn: Turn, heard: Heard) -> Heard | None:
        """Takes a construction as a statement about the leaf.

        *I don't know* and *skip* leave the weight out: its step asks for the reason.
        """
        match heard.meaning:
            case Choice(value=value) if value in FEATURES[_FEATURE].values:
                fact = FactSaid(subject=self.leaf, name=_FEATURE, value=value)
                return heard.model_copy(update={"meaning": fact})
            case Word(kind="skip" | "dont_know"):
                turn.wait_for(None)  # neither its weight nor what it is made of is known
                return heard.model_copy(update={"meaning": Word(kind="skip")})
            case _:
                return heard

    def affirm(self, turn: Turn) -> None:
        """Asks again: no construction was named."""
        self.repeat(turn)

    def repeat(self, turn: Turn) -> None:
        """Asks what the leaf is made of."""
        turn.say(feature_question(turn.words, _FEATURE, self.leaf), "prompt", asked=True)

    def hint(self, turn: Turn) -> str:
        """Examples of constructions."""
        w, some = turn.words, FEATURES[_FEATURE].values[::3]
        return w.say("door_words", values=w.listed([value_name(w, _FEATURE, one) for one in some]))


def dont_know(turn: Turn) -> None:
    """Handles *I don't know* at a step: for a weight, asks what the leaf is made of."""
    task = turn.task
    if task is None or turn.between or task.step.quantity is not Quantity.LEAF_WEIGHT:
        turn.say(turn.hint, "repair")
    else:
        turn.ask(LeafConstructionQuestion(leaf=task.subject))
