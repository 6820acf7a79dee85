"""The observations of a group that were all said to be good."""

from __future__ import annotations

from handsfree.dialogue.questions.fact import FactQuestion
from handsfree.dialogue.turn import Turn


class AllGoodQuestion(FactQuestion):
    """Every observation of a group is in order; waits for 'affirm' where that is needed.

    ``items`` is what the question listed, as it was spoken.
    """

    items: str = ""

    def spoken(self, turn: Turn) -> str:
        """The answer as it is read back ('Both leaves: free to swing. All good.')."""
        return f"{self.items} {self.echo(turn)}".lstrip()

    def echo(self, turn: Turn) -> str:
        """The answer for the next prompt ('All good.')."""
        return turn.words.say("all_good")
