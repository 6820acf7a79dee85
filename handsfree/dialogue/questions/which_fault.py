"""Asks which of several open faults was worked on."""

from __future__ import annotations

from handsfree.dialogue import navigation
from handsfree.dialogue.open_faults import as_found, latest
from handsfree.dialogue.questions.families import YesNoQuestion
from handsfree.dialogue.questions.what_was_done import take
from handsfree.dialogue.state import Heard
from handsfree.dialogue.turn import Turn
from handsfree.language.meaning import Worked
from handsfree.language.wording import sentence


class WhichFaultQuestion(YesNoQuestion):
    """Names the open faults one after the other, the likeliest first, until one is affirmed.

    ``keys`` holds the remaining faults, ``said`` the work that was said, and ``clip`` the sound of
    it.
    """

    keys: tuple[str, ...]
    said: Worked
    clip: str | None = None

    def affirm(self, turn: Turn) -> None:
        """Takes the work for the fault that was named."""
        heard = Heard(text="", meaning=self.said, clip=self.clip)
        take(turn, heard, self.said, self.keys[0])

    def negative(self, turn: Turn) -> None:
        """Names the next fault; after the last one keeps nothing."""
        if len(self.keys) > 1:
            turn.ask(self.model_copy(update={"keys": self.keys[1:]}))
            return
        turn.wait_for(None)
        turn.tell("fault_none_left", "repair")
        navigation.prompt_again(turn)

    def repeat(self, turn: Turn) -> None:
        """Names a fault ('Left leaf, arm loose: is it that one?')."""
        what = sentence(as_found(turn, latest(turn, self.keys[0]))).rstrip(".")
        turn.tell("fault_which", "readback", what=what)
