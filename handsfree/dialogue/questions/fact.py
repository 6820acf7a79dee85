"""Reads a choice or an observation back."""

from __future__ import annotations

from typing import ClassVar

from handsfree.dialogue import grouped_steps, navigation, refused_items, sentences
from handsfree.dialogue.door_survey import tell_changes, tell_weight
from handsfree.dialogue.fact_filing import end_tasks, task_of
from handsfree.dialogue.questions.families import YesNoQuestion
from handsfree.dialogue.questions.note import ask_for_note
from handsfree.dialogue.questions.what_was_done import explain
from handsfree.dialogue.turn import Turn
from handsfree.job.job import Fact
from handsfree.journal import events as ev
from handsfree.language.item_answers import ItemsSaid
from handsfree.language.meaning import Choice, FactSaid, Meaning
from handsfree.language.wording import sentence
from handsfree.procedure.step import Task

_OBSERVED = ("in_order", "not_in_order")
_NOUN_OF = {"hand": "hand", "leaf": "leaf", "hinge_side": "side"}


class FactQuestion(YesNoQuestion):
    """A choice or an observation that waits for 'affirm'.

    Several facts are one answer about both leaves, sides or plates. ``called`` is the spoken name
    of the fact, ``say`` its spoken value. ``listed`` is the list read out in a question for several
    steps, if all of it is OK. ``named`` is true for observations named in one utterance.
    """

    reads_back: ClassVar[bool] = True

    facts: tuple[Fact, ...]
    called: str
    say: str
    listed: str = ""
    named: bool = False

    @property
    def is_bad(self) -> bool:
        """True if this answer says that something is not OK."""
        return any(fact.value == "not_in_order" for fact in self.facts)

    def affirm(self, turn: Turn) -> None:
        """Files the facts and ends the tasks that they answer.

        Asks for details of a defect, and for the work done on one that is OK now.
        """
        if self.named and self.is_bad:
            refused_items.file(turn, self.facts)
            return
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

    def negative(self, turn: Turn) -> None:
        """Drops the answer; if there are several, each is then asked about separately."""
        if self.named and self.is_bad:
            refused_items.ask_one_by_one(turn)
        else:
            super().negative(turn)

    def disregard(self, turn: Turn) -> None:
        """Drops the answer like 'negative', and returns to the current task."""
        if self.named and self.is_bad:
            refused_items.ask_one_by_one(turn)
        else:
            super().disregard(turn)

    def repeat(self, turn: Turn) -> None:
        """Reads the fact back ('Motor one, left leaf.')."""
        turn.say(self.spoken(turn), "readback")

    def echo(self, turn: Turn) -> str:
        """The answer ('OK.'), with its name where the step asks for something else.

        '' for a defect, for a step that must not be skipped, and for a fire door.
        """
        if self.is_bad:
            return ""
        if self.listed:
            return turn.words.say("all_good")
        tasks = [task_of(turn, fact.subject, fact.name) for fact in self.facts]
        if any(task is None or _life_hangs_on(task) for task in tasks):
            return ""
        here = turn.task.key if turn.task and not turn.between else None
        if not self.named and [task.key for task in tasks if task is not None] == [here]:
            return sentence(self.say)
        return self.spoken(turn)

    def is_replaced_by(self, turn: Turn, meaning: Meaning | None) -> bool:
        """True for another value of the same fact, and for a choice that only its step offers."""
        if isinstance(meaning, FactSaid):
            about = (meaning.subject, meaning.name)
            return any((fact.subject, fact.name) == about for fact in self.facts)
        if isinstance(meaning, ItemsSaid):
            return any(item.is_about(fact) for item in meaning.items for fact in self.facts)
        if not isinstance(meaning, Choice) or answers_step(turn, meaning):
            return False
        own = [task_of(turn, fact.subject, fact.name) for fact in self.facts]
        return any(task is not None and offers(turn, task, meaning) for task in own)

    def spoken(self, turn: Turn) -> str:
        """The facts as they are read back."""
        if self.listed:
            return f"{self.listed} {turn.words.say('all_good')}"
        if self.named:
            return sentences.items_readback(turn.words, turn.state.tasks, self.facts)
        return sentences.fact_readback(turn.words, self.facts, self.called, self.say)


def offered_by(turn: Turn, task: Task) -> dict[str, str]:
    """The answers that a step offers: their spoken form, by value."""
    if task.step.waits == "observation":
        return sentences.observed(turn.words, task.step)
    return {option.value: option.say for option in task.step.options}


def offers(turn: Turn, task: Task, choice: Choice) -> bool:
    """True if a step offers a choice."""
    noun = _NOUN_OF.get(task.step.fact or "")
    fits = not (choice.noun and noun and choice.noun != noun)
    return fits and choice.value in offered_by(turn, task)


def answers_step(turn: Turn, choice: Choice) -> bool:
    """True if a choice answers the current task."""
    task = turn.task
    if grouped_steps.group_at(turn.state):
        return choice.value in _OBSERVED
    return task is not None and not turn.between and offers(turn, task, choice)


def _life_hangs_on(task: Task) -> bool:
    return not task.step.may_skip or task.step.stage == "fire"
