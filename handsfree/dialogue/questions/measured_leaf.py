"""Asks which leaf a log of rotation rates belongs to."""

from __future__ import annotations

from typing import ClassVar

from handsfree.dialogue.questions.families import LEAF_CHOICES, LeafQuestion
from handsfree.dialogue.state import Heard
from handsfree.dialogue.turn import Turn
from handsfree.job.record import Number
from handsfree.language.meaning import Choice, MeasureLeafSaid


class MeasuredLeafQuestion(LeafQuestion):
    """Asks for the leaf to measure by its log.

    ``open_angle_deg`` is its fully open angle measured with a square (degrees), if it was said.
    """

    admits: ClassVar[frozenset[str]] = frozenset({"measure_leaf"})

    open_angle_deg: Number | None = None

    def answer(self, turn: Turn, heard: Heard) -> Heard | None:
        """Completes 'left' to 'measure the left leaf', which may be said in full too."""
        match heard.meaning:
            case Choice(value=value) if value in LEAF_CHOICES:
                leaf, angle = LEAF_CHOICES[value], self.open_angle_deg
                meaning = MeasureLeafSaid(subject=leaf, value=angle)
                return heard.model_copy(update={"meaning": meaning})
            case MeasureLeafSaid(value=None) as said:
                meaning = said.model_copy(update={"value": self.open_angle_deg})
                return heard.model_copy(update={"meaning": meaning})
            case _:
                return heard
