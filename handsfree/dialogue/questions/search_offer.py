"""Offers to search for the cause of a complaint."""

from __future__ import annotations

from handsfree.dialogue import navigation, searching
from handsfree.dialogue.questions.cause_search import CauseSearchQuestion
from handsfree.dialogue.questions.complaint_kept import (
    ComplaintKeptQuestion,
    in_daily_walk,
    is_open,
)
from handsfree.dialogue.questions.families import YesNoQuestion
from handsfree.dialogue.turn import Turn


class SearchOfferQuestion(YesNoQuestion):
    """Asks whether to search for the cause now; ``complaint`` names the search tree.

    ``ends_task`` is True if the current task ends without the search.
    """

    complaint: str
    ends_task: bool = False

    def affirm(self, turn: Turn) -> None:
        """Begins the search."""
        tree = searching.tree_for(turn, self.complaint)
        if tree is None:
            self.negative(turn)
            return
        searching.start(turn, tree)
        turn.ask(CauseSearchQuestion())

    def negative(self, turn: Turn) -> None:
        """Does not search; asks whether to keep a complaint that is not open yet."""
        turn.wait_for(None)
        if not self.ends_task and not is_open(turn, self.complaint):
            turn.ask(ComplaintKeptQuestion(complaint=self.complaint))
            return
        self._leave(turn)

    def _leave(self, turn: Turn) -> None:
        turn.wait_for(None)
        if self.ends_task:
            navigation.end(turn, "failed")
        else:
            navigation.prompt_again(turn)

    def disregard(self, turn: Turn) -> None:
        """Does not search, and keeps nothing."""
        self._leave(turn)

    def repeat(self, turn: Turn) -> None:
        """Offers the search ('The door slams. Search for the cause?')."""
        tree = searching.tree_for(turn, self.complaint)
        if tree is not None:
            turn.tell("search_offer", "readback", complaint=tree.title)


def offer(turn: Turn, complaint: str, *, ends_task: bool = False) -> bool:
    """Offers the search for the cause of a complaint; False if there is no tree for it.

    On the owner's daily walk it only asks whether to keep the complaint.
    """
    if searching.tree_for(turn, complaint) is None or turn.state.progress.search is not None:
        return False
    if in_daily_walk(turn) and not ends_task:
        turn.ask(ComplaintKeptQuestion(complaint=complaint))
        return True
    turn.ask(SearchOfferQuestion(complaint=complaint, ends_task=ends_task))
    return True
