"""Reads back a fault that was named."""

from __future__ import annotations

from handsfree.dialogue.open_faults import named
from handsfree.dialogue.questions.families import YesNoQuestion
from handsfree.dialogue.questions.fault_proof import back
from handsfree.dialogue.state import Heard
from handsfree.dialogue.turn import Turn
from handsfree.job.reading import Subject
from handsfree.journal.fault_events import FaultFound
from handsfree.language.item_answers import ItemsSaid
from handsfree.language.meaning import Word
from handsfree.language.wording import sentence


class FaultFoundQuestion(YesNoQuestion):
    """A fault from the list of known faults that waits for 'affirm'.

    ``rest`` is what else the utterance named; it comes after the answer.
    """

    subject: Subject
    name: str
    clip: str | None = None
    rest: ItemsSaid | None = None

    def answer(self, turn: Turn, heard: Heard) -> Heard | None:
        """Keeps or drops the fault, and continues with the rest of the utterance."""
        match heard.meaning:
            case Word(kind="affirm" | "negative" | "disregard" as said) if self.rest is not None:
                turn.wait_for(None)
                if said == "affirm":
                    self._keep(turn)
                else:
                    turn.tell("dropped", "status")
                return heard.model_copy(update={"meaning": self.rest})
            case _:
                return heard

    def affirm(self, turn: Turn) -> None:
        """Keeps the fault and returns to where the visit was."""
        turn.wait_for(None)
        self._keep(turn)
        back(turn, hand_over=False)

    def negative(self, turn: Turn) -> None:
        """Drops it and returns to where the visit was."""
        turn.tell("dropped", "status")
        back(turn, hand_over=False)

    def disregard(self, turn: Turn) -> None:
        """Drops it and returns to where the visit was."""
        self.negative(turn)

    def repeat(self, turn: Turn) -> None:
        """Reads the fault back ('Left leaf, arm loose. Yes or no?')."""
        what = sentence(named(turn, self.name, self.subject)).rstrip(".")
        turn.tell("fault_found", "readback", what=what)

    def _keep(self, turn: Turn) -> None:
        turn.keep(FaultFound(subject=self.subject, name=self.name, clip=self.clip))
        turn.tell("fault_kept", "status")
