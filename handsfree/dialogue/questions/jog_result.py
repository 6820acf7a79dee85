"""Reads back the result of jogging each motor."""

from __future__ import annotations

from handsfree.dialogue.questions.fact import FactQuestion
from handsfree.dialogue.questions.families import YesNoQuestion
from handsfree.dialogue.turn import Turn
from handsfree.job.job import Fact
from handsfree.job.opening import Side
from handsfree.job.reading import LEAF_SUBJECT, Subject
from handsfree.language.door_words import hand_name
from handsfree.language.wording import sentence


class JogResultQuestion(YesNoQuestion):
    """The leaf and the hand of each motor, as shown by the jogs, waiting for 'affirm'."""

    facts: tuple[Fact, ...]

    def affirm(self, turn: Turn) -> None:
        """Files them, and reminds the technician of the power before any work on the wires."""
        turn.tell("jog_power_off", "warning")
        FactQuestion(facts=self.facts, called="", say="").affirm(turn)

    def repeat(self, turn: Turn) -> None:
        """Reads it back ('Motor one, left leaf, left hand.')."""
        w = turn.words
        about: dict[Subject, list[str]] = {}
        for fact in self.facts:
            side = Side(fact.value)
            named = w.subject(LEAF_SUBJECT[side]) if fact.name == "leaf" else hand_name(w, side)
            about.setdefault(fact.subject, [w.subject(fact.subject)]).append(named)
        turn.say(" ".join(sentence(", ".join(names)) for names in about.values()), "readback")
