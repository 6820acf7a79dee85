"""Handles the answer to a group of steps: good for all, or split into single questions."""

from __future__ import annotations

from handsfree.dialogue import (
    filing,
    grouped_steps,
    implicit_confirmation,
    navigation,
    verdicts,
)
from handsfree.dialogue.door_survey import tell_changes
from handsfree.dialogue.everyday_words import is_bad_case
from handsfree.dialogue.known_values import known_fact, known_measure
from handsfree.dialogue.proposed_reading import ProposedReading
from handsfree.dialogue.questions.fact import FactQuestion
from handsfree.dialogue.state import Heard
from handsfree.dialogue.turn import Turn
from handsfree.job.finding import Finding, Verdict
from handsfree.job.job import Fact
from handsfree.journal import events as ev
from handsfree.language.meaning import Choice
from handsfree.procedure.step import Task


def choose(turn: Turn, group: tuple[Task, ...], choice: Choice, heard: Heard) -> bool:
    """Takes 'all good' and similar answers, or opens the group; False for any other choice."""
    if choice.value == "not_in_order":
        open_(turn, group, heard)
    elif choice.value != "in_order":
        return False
    elif grouped_steps.asks_values(group[0]):
        all_same(turn, group, heard)
    elif group[0].step.waits == "done":
        all_done(turn, group)
    else:
        facts = tuple(
            Fact(subject=each.subject, name=each.step.fact, value=choice.value)
            for each in group
            if each.step.fact is not None
        )
        said = turn.words.name("word", choice.value)
        question = FactQuestion(
            facts=facts,
            called=group[0].step.called or "",
            say=said,
            listed=grouped_steps.items(turn.words, group),
        )
        implicit_confirmation.put(turn, question, heard)
    return True


def open_(turn: Turn, group: tuple[Task, ...], heard: Heard) -> None:
    """Opens a group: its steps are asked one by one, starting with the current one.

    'No' may refer to the echoed answer instead: then that is asked about first.
    """
    echo = turn.state.echo if is_bad_case(heard.meaning) else None
    if echo is not None:
        implicit_confirmation.restore(turn, echo.question)
    turn.keep(ev.GroupOpened(group=group[0].step.group or ""))
    if not turn.ask_again():
        turn.tell("group_opened", "status")
        turn.prompt()


def all_done(turn: Turn, group: tuple[Task, ...]) -> None:
    """Ends every step of a group that waits for 'done'."""
    _end_others(turn, group)
    navigation.end(turn, "done")


def all_same(turn: Turn, group: tuple[Task, ...], heard: Heard) -> None:
    """Files the known values of a group, spoken in the question and accepted by 'yes'."""
    job_before, steps_before = turn.job, len(turn.state.tasks)
    facts = [fact for task in group if (fact := known_fact(turn.state, task)) is not None]
    values = [(task, known_measure(turn.state, task)) for task in group]
    for fact in facts:
        turn.keep(ev.FactAccepted(fact=fact))
    turn.warn_of(turn.judge_since(job_before))
    tell_changes(turn, job_before, steps_before)
    filed: list[verdicts.Filed] = []
    earlier: list[Finding] = []
    for task, value in values:
        if value is None or task.step.quantity is None:
            continue
        item = ProposedReading(
            quantity=task.step.quantity,
            subjects=(task.subject,),
            value=value.value,
            unit=value.unit,
            taken=heard.taken,
            clip=heard.clip,
            known=True,
        )
        one, others = filing.file_one(turn, item, task.subject)
        filed = [each.updated_by(others) for each in filed] + [one]
        earlier += [found for found in others if all(found not in f.findings for f in filed)]
    verdicts.tell(turn, filed)
    turn.warn_of(earlier)
    failed = {
        (each.reading.quantity, each.reading.subject)
        for each in filed
        if each.outcome is Verdict.FAIL
    }
    here = _end_others(turn, group, failed={t.key for t in group if _about(t) in failed})
    navigation.end(turn, "failed" if _about(here) in failed else "done")


def _about(task: Task) -> tuple[object, object]:
    return task.step.quantity, task.subject


def _end_others(turn: Turn, group: tuple[Task, ...], failed: set[str] | None = None) -> Task:
    """Ends all steps of a group except the current one, which is returned."""
    here = turn.task or group[0]
    for task in group:
        if task.key != here.key:
            outcome = "failed" if task.key in (failed or ()) else "done"
            turn.keep(ev.StepEnded.model_validate({"key": task.key, "outcome": outcome}))
    return here
