"""Asks whether a complaint whose cause is not searched now is to be kept as a fault."""

from __future__ import annotations

from handsfree.dialogue import navigation, searching
from handsfree.dialogue.questions.families import YesNoQuestion
from handsfree.dialogue.turn import Turn
from handsfree.visit_record.faults import latest_occurrence

DAILY = "daily"
"""The stage of the owner's own walk: nobody searches or adjusts there."""


class ComplaintKeptQuestion(YesNoQuestion):
    """Asks whether to keep a complaint as an open fault; ``complaint`` names its search tree."""

    complaint: str

    def affirm(self, turn: Turn) -> None:
        """Keeps it as a search that was stopped: it stays open, without a cause."""
        tree = searching.tree_for(turn, self.complaint)
        turn.wait_for(None)
        if tree is not None:
            searching.start(turn, tree)
            searching.end(turn, tree, None)
            turn.tell("fault_kept", "status")
        navigation.prompt_again(turn)

    def negative(self, turn: Turn) -> None:
        """Drops the complaint, and returns to the current task."""
        turn.wait_for(None)
        turn.tell("dropped", "status")
        navigation.prompt_again(turn)

    def disregard(self, turn: Turn) -> None:
        """Drops the complaint, and returns to the current task."""
        self.negative(turn)

    def repeat(self, turn: Turn) -> None:
        """Asks for it ('The door slams. Keep it as a fault?')."""
        tree = searching.tree_for(turn, self.complaint)
        if tree is not None:
            turn.tell("complaint_keep", "readback", complaint=tree.title)


def is_open(turn: Turn, complaint: str) -> bool:
    """True if a complaint is an open fault already, by whatever name it was said."""
    tree = searching.tree_for(turn, complaint)
    life = latest_occurrence(turn.state.progress.faults, f"search/{tree.name}") if tree else None
    return life is not None and life.open


def in_daily_walk(turn: Turn) -> bool:
    """True if the visit is the owner's own walk."""
    return any(stage.id == DAILY for stage in turn.state.procedure.stages)
