"""A choice or an observation that was read back."""

from __future__ import annotations

from handsfree.dialogue import navigation, sentences
from handsfree.dialogue.door_survey import tell_changes, tell_weight
from handsfree.dialogue.fact_filing import end_tasks
from handsfree.dialogue.questions.families import YesNoQuestion
from handsfree.dialogue.questions.note import ask_for_note
from handsfree.dialogue.questions.what_was_done import explain
from handsfree.dialogue.turn import Turn
from handsfree.job.job import Fact
from handsfree.journal import events as ev


class FactQuestion(YesNoQuestion):
    """A choice or an observation that waits for 'affirm'.

    Several facts are one answer about both leaves, sides or plates. ``called`` names the fact and
    ``say`` its value as they are spoken.
    """

    facts: tuple[Fact, ...]
    called: str
    say: str

    def affirm(self, turn: Turn) -> None:
        """Files the facts and ends the tasks that they answer.

        Asks what is wrong with a defect, and what was done about one that is in order now.
        """
        turn.wait_for(None)
        job_before, steps_before = turn.job, len(turn.state.tasks)
        for fact in self.facts:
            turn.keep(ev.FactAccepted(fact=fact))
        turn.warn_of(turn.judge_since(job_before))
        tell_changes(turn, job_before, steps_before)
        if tell_weight(turn, self.facts[0]):
            navigation.end(turn, "done")
        elif self.facts[0].value == "not_in_order":
            ask_for_note(turn, defect=True)
        elif not explain(turn, self.facts):
            end_tasks(turn, self.facts)

    def repeat(self, turn: Turn) -> None:
        """Reads the fact back ('Motor one, left leaf.')."""
        turn.say(self.spoken(turn), "readback")

    def spoken(self, turn: Turn) -> str:
        """The facts as they are read back."""
        return sentences.fact_readback(turn.words, self.facts, self.called, self.say)
