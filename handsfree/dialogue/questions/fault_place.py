"""Asks for the place of a fault that was named without one."""

from __future__ import annotations

from handsfree.dialogue.questions.families import LeafQuestion
from handsfree.dialogue.questions.fault_found import FaultFoundQuestion
from handsfree.dialogue.state import Heard
from handsfree.dialogue.turn import Turn
from handsfree.job.reading import Subject
from handsfree.language.item_answers import ItemsSaid
from handsfree.language.meaning import Choice, Word
from handsfree.language.wording import sentence


class FaultPlaceQuestion(LeafQuestion):
    """Asks for left or right; ``places`` holds the leaves or the plates, left first.

    ``rest`` is what else the utterance named.
    """

    name: str
    places: tuple[Subject, Subject]
    clip: str | None = None
    rest: ItemsSaid | None = None

    def answer(self, turn: Turn, heard: Heard) -> Heard | None:
        """Reads the fault back with its place."""
        match heard.meaning:
            case Choice(value="left" | "right" as side):
                place = self.places[("left", "right").index(side)]
                turn.ask(
                    FaultFoundQuestion(
                        subject=place, name=self.name, clip=self.clip, rest=self.rest
                    )
                )
                return None
            case Word(kind="negative" | "disregard") if self.rest is not None:
                turn.wait_for(None)
                turn.tell("dropped", "status")
                return heard.model_copy(update={"meaning": self.rest})
            case _:
                return heard

    def repeat(self, turn: Turn) -> None:
        """Asks for the side ('Arm loose: left or right?')."""
        what = sentence(turn.words.name("fault", self.name)).rstrip(".")
        turn.tell("fault_side", "readback", what=what)
