"""A choice or an observation that was read back."""

from __future__ import annotations

from handsfree.dialogue import navigation, sentences
from handsfree.dialogue.door_survey import tell_changes, tell_weight
from handsfree.dialogue.questions.families import YesNoQuestion
from handsfree.dialogue.questions.note import ask_for_note
from handsfree.dialogue.turn import Turn
from handsfree.job.job import Fact
from handsfree.job.reading import Subject
from handsfree.journal import events as ev
from handsfree.procedure.step import Task


class FactQuestion(YesNoQuestion):
    """A choice or an observation that waits for 'affirm'.

    Several facts are one answer about both leaves, sides or plates. ``called`` names the fact and
    ``say`` its value as they are spoken.
    """

    facts: tuple[Fact, ...]
    called: str
    say: str

    def affirm(self, turn: Turn) -> None:
        """Files the facts and ends the tasks that they answer; asks what is wrong with a defect."""
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
        else:
            self._end_tasks(turn)

    def repeat(self, turn: Turn) -> None:
        """Reads the fact back ('Motor one, left leaf.')."""
        turn.say(self.spoken(turn), "readback")

    def spoken(self, turn: Turn) -> str:
        """The facts as they are read back."""
        return sentences.fact_readback(turn.words, self.facts, self.called, self.say)

    def _end_tasks(self, turn: Turn) -> None:
        here = turn.task.key if turn.task and not turn.between else None
        answered = [task_of(turn, fact.subject, fact.name) for fact in self.facts]
        for asked in answered:
            if asked is None or asked.key == here:
                continue
            if turn.state.progress.ended.get(asked.key) not in ("done", "failed"):
                turn.keep(ev.StepEnded(key=asked.key, outcome="done"))
        if here in [asked.key for asked in answered if asked is not None]:
            navigation.end(turn, "done")
        else:
            # The fact may have removed the task at hand from the visit, or answers another one.
            navigation.prompt_again(turn)


def task_of(turn: Turn, subject: Subject, name: str) -> Task | None:
    """The task that asks for a fact about a subject."""
    for task in turn.state.tasks:
        if task.subject is subject and task.step.fact == name:
            return task
    return None
