"""A log of rotation rates that is about to be read."""

from __future__ import annotations

from handsfree.dialogue.questions.families import DroppableQuestion
from handsfree.dialogue.state import MeasureLeaf
from handsfree.dialogue.turn import Turn
from handsfree.job.reading import Subject
from handsfree.language.wording import sentence


class LeafLogQuestion(DroppableQuestion):
    """The newest log is read for this leaf. What it shows answers it (``leaf_measurement``)."""

    leaf: Subject

    def repeat(self, turn: Turn) -> None:
        """Has the log read."""
        turn.wait_for(self)
        turn.tell(
            "log_reading", "readback", leaf=sentence(turn.words.subject(self.leaf)).rstrip(".")
        )
        turn.replies.append(MeasureLeaf(leaf=self.leaf))
