"""Asks for the leaf that readings belong to."""

from __future__ import annotations

from typing import ClassVar

from handsfree.dialogue.questions.families import LEAF_CHOICES, LeafQuestion
from handsfree.dialogue.state import Heard
from handsfree.dialogue.turn import Turn
from handsfree.language.meaning import Choice, ReadingSaid, ReadingsSaid


class ReadingSubjectQuestion(LeafQuestion):
    """Asks for the leaf of readings, if it was not said and does not follow from the step.

    ``clip`` is the sound of the values; the sound of the answer does not replace it.
    """

    completes_reading: ClassVar[bool] = True

    said: tuple[ReadingSaid, ...]
    clip: str | None

    def answer(self, turn: Turn, heard: Heard) -> Heard | None:
        """Completes 'left' to the readings of the left leaf."""
        match heard.meaning:
            case Choice(value=value) if value in LEAF_CHOICES:
                subject = LEAF_CHOICES[value]
            case Choice():
                self.repeat(turn)
                return None
            case _:
                return heard
        said = tuple(
            one if one.subject else one.model_copy(update={"subject": subject}) for one in self.said
        )
        turn.wait_for(None)
        meaning = ReadingsSaid(readings=said)
        return heard.model_copy(update={"meaning": meaning, "clip": self.clip})
