"""Reads back a spoken serial number or date before it counts."""

from __future__ import annotations

from typing import ClassVar

from handsfree.dialogue import navigation
from handsfree.dialogue.questions.families import YesNoQuestion
from handsfree.dialogue.turn import Turn
from handsfree.dialogue.visit_fact_filing import keep_fact
from handsfree.job.reading import Subject
from handsfree.language.visit_fact_words import fact_name, spoken_value
from handsfree.language.wording import sentence


class VisitFactCheckQuestion(YesNoQuestion):
    """A visit fact that waits for 'affirm'; ``clip`` is the sound of its value."""

    keeps_sound: ClassVar[bool] = True

    fact: str
    subject: Subject
    value: str
    clip: str | None = None

    def affirm(self, turn: Turn) -> None:
        """Keeps the fact and returns to the current task."""
        turn.wait_for(None)
        keep_fact(turn, self.fact, self.subject, self.value, self.clip)
        navigation.prompt_again(turn)

    def negative(self, turn: Turn) -> None:
        """Drops it and returns to the current task."""
        self.disregard(turn)

    def repeat(self, turn: Turn) -> None:
        """Reads it back ('Serial number of the operator: alpha seven four two. Yes or no?')."""
        w = turn.words
        what = fact_name(w, self.fact, self.subject)
        value = spoken_value(w, self.fact, self.value)
        turn.say(sentence(w.say("visit_fact_check", what=what, value=value)), "readback")
