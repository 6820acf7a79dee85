"""The leaf that a log of rotation rates is of."""

from __future__ import annotations

from handsfree.dialogue.questions.families import LEAF_CHOICES, LeafQuestion
from handsfree.dialogue.state import Heard
from handsfree.dialogue.turn import Turn
from handsfree.language.meaning import Choice, MeasureLeafSaid


class MeasuredLeafQuestion(LeafQuestion):
    """A leaf is to be measured by its log, and which one was not said."""

    def answer(self, turn: Turn, heard: Heard) -> Heard | None:
        """Completes 'left' to 'measure the left leaf'."""
        match heard.meaning:
            case Choice(value=value) if value in LEAF_CHOICES:
                meaning = MeasureLeafSaid(subject=LEAF_CHOICES[value])
                return heard.model_copy(update={"meaning": meaning})
            case _:
                return heard
