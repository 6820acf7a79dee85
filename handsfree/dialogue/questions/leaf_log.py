"""Waits for a leaf's log of rotation rates to be read."""

from __future__ import annotations

from handsfree.dialogue.questions.families import DroppableQuestion
from handsfree.dialogue.state import MeasureLeaf
from handsfree.dialogue.turn import Turn
from handsfree.job.reading import Subject
from handsfree.job.record import Number
from handsfree.job.unit import Unit
from handsfree.language.wording import sentence


class LeafLogQuestion(DroppableQuestion):
    """The newest log for this leaf is being read; its results are the answer
    (``leaf_measurement``).
    """

    leaf: Subject
    open_angle_deg: Number | None = None

    def repeat(self, turn: Turn) -> None:
        """Requests the reading of the log."""
        turn.wait_for(self)
        leaf = sentence(turn.words.subject(self.leaf)).rstrip(".")
        if self.open_angle_deg is None:
            turn.tell("log_reading", "readback", leaf=leaf)
        else:
            angle = turn.words.measure(self.open_angle_deg, Unit.DEGREE)
            turn.tell("log_reading_at", "readback", leaf=leaf, angle=angle)
        turn.replies.append(MeasureLeaf(leaf=self.leaf, open_angle_deg=self.open_angle_deg))
