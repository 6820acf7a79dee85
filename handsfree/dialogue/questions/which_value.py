"""Asks which of two similar-sounding values was said."""

from __future__ import annotations

from pydantic import SerializeAsAny

from handsfree.dialogue.proposed_reading import ProposedReading, Rival
from handsfree.dialogue.questions.families import ValueQuestion
from handsfree.dialogue.questions.question import Question
from handsfree.dialogue.state import Heard
from handsfree.dialogue.turn import Turn
from handsfree.job.quantity import QUANTITIES
from handsfree.job.unit import Measure
from handsfree.language.meaning import ReadingSaid
from handsfree.language.wording import sentence


class WhichValueQuestion(ValueQuestion):
    """Asks whether a refused reading was the value that sounds like it.

    ``refused`` is the original question; it is asked again with the chosen value.
    """

    refused: SerializeAsAny[Question]
    rival: Rival

    @property
    def reading(self) -> ProposedReading:
        """The refused reading; of several, the one that has this rival."""
        return next(each for each in self.refused.proposed if each.rival == self.rival)

    @property
    def correctable(self) -> tuple[ProposedReading, ...]:
        """The reading that was refused."""
        return (self.reading,)

    def answer(self, turn: Turn, heard: Heard) -> Heard | None:
        """Reads the chosen value back; any other reading replaces both."""
        said, reading = heard.meaning, self.reading
        if not isinstance(said, ReadingSaid):
            return heard
        same = said.quantity in (None, reading.quantity) and (
            said.subject is None or (said.subject,) == reading.subjects
        )
        values = (reading.value, self.rival.value)
        if not (same and said.unit in (None, reading.unit) and said.value in values):
            turn.wait_for(None)
            return heard
        # The second recognizer hears this answer too, so its mark on the refused value is removed.
        chosen = reading.model_copy(
            update={
                **{"value": said.value, "clip": heard.clip, "rival": None, "doubt": None},
                **{"second_ear": None},
            }
        )
        items = tuple(chosen if each is reading else each for each in self.refused.proposed)
        turn.ask(self.refused.with_readings(items))
        return None

    def repeat(self, turn: Turn) -> None:
        """Asks for one of the two ('Fifteen or fifty: one five, or five zero?')."""
        w, rival = turn.words, self.rival
        question = w.say(
            "one_of_two" if rival.one else "which_value",
            one=rival.one,
            other=rival.other,
            one_digits=w.number(self.reading.value, spelled=True),
            other_digits=w.number(rival.value, spelled=True),
        )
        turn.say(sentence(question), "repair")


def ask_which_value(turn: Turn, refused: Question) -> bool:
    """Asks which of two values a refused reading was, even if it is one of several.

    Returns False unless exactly one other value is plausible.
    """
    rivals = [
        each.rival
        for each in refused.proposed
        if each.rival is not None
        and QUANTITIES[each.quantity].plausible(Measure(value=each.rival.value, unit=each.unit))
    ]
    if len(rivals) != 1:
        return False
    turn.ask(WhichValueQuestion(refused=refused, rival=rivals[0]))
    return True
