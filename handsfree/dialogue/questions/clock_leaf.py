"""Asks which leaf to time."""

from __future__ import annotations

from typing import ClassVar

from handsfree.dialogue.questions.families import LEAF_CHOICES, LeafQuestion
from handsfree.dialogue.state import Heard
from handsfree.dialogue.turn import Turn
from handsfree.language.meaning import Choice, StartClock


class ClockLeafQuestion(LeafQuestion):
    """Asks for the leaf after 'start the clock' without one; takes the whole command again, too."""

    admits: ClassVar[frozenset[str]] = frozenset({"start_clock"})

    def answer(self, turn: Turn, heard: Heard) -> Heard | None:
        """Completes 'left' to 'start the clock, left leaf'."""
        match heard.meaning:
            case Choice(value=value) if value in LEAF_CHOICES:
                meaning = StartClock(subject=LEAF_CHOICES[value])
                return heard.model_copy(update={"meaning": meaning})
            case _:
                return heard
