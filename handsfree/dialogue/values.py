"""Readings in the conversation: completing what was said, reading back, filing, judging."""

from __future__ import annotations

from handsfree.checks.judge import judge_reading
from handsfree.dialogue import wording
from handsfree.dialogue.state import AskedSubject, Heard, PendingReading, PendingWithdrawal
from handsfree.dialogue.turn import Turn, fails, worst
from handsfree.grammar.meaning import ReadingSaid
from handsfree.job.finding import Binding, Finding, Verdict, ruling
from handsfree.job.job import leaf_side
from handsfree.job.quantity import QUANTITIES, Quantity
from handsfree.job.reading import LEAF_SUBJECTS, Reading, Subject
from handsfree.job.unit import Family, Measure, Unit, family_of
from handsfree.journal import events as ev
from handsfree.procedure.step import Task

MOST_RUNS = 5
_ABOUT_THE_OPENING = (Quantity.CLEAR_WIDTH, Quantity.CYCLES, Quantity.NEXT_SERVICE)


def propose(turn: Turn, said: ReadingSaid, heard: Heard) -> None:
    """Reads a reading back, or asks for what it lacks."""
    quantity = _quantity(turn, said)
    if quantity is None:
        turn.say(wording.WHICH_QUANTITY, "repair")
        return
    subjects = _subjects(turn, said, quantity)
    if subjects is None:
        named = said.model_copy(update={"quantity": quantity, "open_time": False})
        turn.wait_for(AskedSubject(said=named, clip=heard.clip))
        turn.say(wording.WHICH_LEAF, "repair")
        return
    for subject in subjects:
        if not _exists(turn, subject):
            turn.say(wording.no_such(subject), "repair")
            return
    unit = _unit(turn, said, quantity)
    if unit is None:
        turn.say(wording.wrong_unit(quantity), "repair")
        return
    value = Measure(value=said.value, unit=unit)
    if not QUANTITIES[quantity].plausible(value) and turn.state.doubted != value:
        turn.wait_for(None)
        turn.set(doubted=value)
        turn.say(wording.implausible(quantity, value), "repair")
        return
    turn.set(doubted=None)
    turn.wait_for(
        PendingReading(
            quantity=quantity,
            subjects=subjects,
            value=said.value,
            unit=unit,
            taken=heard.taken,
            clip=heard.clip,
        )
    )
    turn.say(wording.readback(subjects, quantity, value), "readback")


def correct(turn: Turn, pending: PendingReading, said: ReadingSaid, heard: Heard) -> None:
    """Replaces the pending reading; what the correction leaves out stays as it was."""
    one = pending.subjects[0] if len(pending.subjects) == 1 else Subject.BOTH_LEAVES
    same_quantity = said.quantity is None or said.quantity is pending.quantity
    whole = said.model_copy(
        update={
            "subject": said.subject or one,
            "quantity": said.quantity or pending.quantity,
            "unit": said.unit or (pending.unit if same_quantity else None),
            "open_time": False,
        }
    )
    propose(turn, whole, heard)


def file(turn: Turn, pending: PendingReading) -> None:
    """Files an affirmed reading, judges it and says the verdict."""
    turn.wait_for(None)
    task = turn.task
    answered = task is not None and any(_answers(task, pending, s) for s in pending.subjects)
    verdicts: list[Verdict] = []
    for subject in pending.subjects:
        verdicts.append(_file_one(turn, pending, subject))
        if not (answered and task is not None and _answers(task, pending, subject)):
            _end_elsewhere(turn, pending, subject, verdicts[-1])
    worst_of_all = worst(verdicts) or Verdict.PASS
    if not answered or task is None:
        turn.prompt(brief=True)
        return
    latest = turn.job.latest(pending.quantity, task.subject)
    runs = turn.job.runs(pending.quantity, task.subject)
    if worst_of_all is Verdict.FAIL and latest is not None and task.step.attempts > 1:
        if latest.attempt < task.step.attempts:
            turn.say(wording.adjust(task.step, task.subject), "prompt")
            return
        turn.say(wording.RECORDED, "status")
    if worst_of_all is Verdict.TOO_CLOSE and len(runs) < MOST_RUNS and task.step.attempts > 1:
        turn.say(wording.measure_again(), "prompt")
        return
    turn.end("failed" if worst_of_all is Verdict.FAIL else "done")


def ask_withdrawal(turn: Turn) -> None:
    """Reads the last accepted reading back and asks whether to take it back."""
    if not turn.job.readings:
        turn.say(wording.NOTHING_TO_WITHDRAW, "answer")
        return
    last = turn.job.readings[-1]
    turn.wait_for(PendingWithdrawal(reading=last))
    turn.say(wording.withdrawal(last), "readback")


def withdraw(turn: Turn, pending: PendingWithdrawal) -> None:
    """Takes a reading back and returns to the task that it answered."""
    turn.wait_for(None)
    reading, job_before = pending.reading, turn.job
    turn.keep(ev.ReadingWithdrawn(reading_id=reading.id))
    turn.say(wording.WITHDRAWN, "status")
    turn.warn_of(turn.judge_since(job_before))
    asked = next((t for t in turn.state.tasks if _asks(t, reading.quantity, reading.subject)), None)
    if asked is not None:
        turn.enter(asked)
    else:
        turn.prompt(brief=True)


def _quantity(turn: Turn, said: ReadingSaid) -> Quantity | None:
    waited = turn.task.step.quantity if turn.task else None
    if said.open_time and waited is Quantity.HOLD_OPEN_TIME:
        return waited
    return said.quantity or waited


def _subjects(turn: Turn, said: ReadingSaid, quantity: Quantity) -> tuple[Subject, ...] | None:
    leaves = tuple(s for s in LEAF_SUBJECTS if _exists(turn, s))
    if said.subject is Subject.BOTH_LEAVES:
        return leaves
    if said.subject is not None:
        return (said.subject,)
    if quantity in _ABOUT_THE_OPENING:
        return (Subject.OPENING,)
    task = turn.task
    if task is not None and (task.step.quantity is quantity or task.subject in LEAF_SUBJECTS):
        return (task.subject,)
    return leaves if len(leaves) == 1 else None


def _exists(turn: Turn, subject: Subject) -> bool:
    side = leaf_side(subject)
    return side is None or turn.job.opening.leaf(side) is not None


def _unit(turn: Turn, said: ReadingSaid, quantity: Quantity) -> Unit | None:
    """The unit meant: pounds are a force where a force is read; another family is None."""
    facts = QUANTITIES[quantity]
    if said.unit is None:
        return facts.default_unit(turn.job.sheet.units)
    if said.unit is Unit.POUND and facts.family is Family.FORCE:
        return Unit.POUND_FORCE
    return said.unit if family_of(said.unit) is facts.family else None


def _asks(task: Task, quantity: Quantity, subject: Subject) -> bool:
    return task.step.quantity is quantity and task.subject is subject


def _answers(task: Task, pending: PendingReading, subject: Subject) -> bool:
    return _asks(task, pending.quantity, subject)


def _file_one(turn: Turn, pending: PendingReading, subject: Subject) -> Verdict:
    """Accepts the reading for one subject and says its findings; the verdict that rules."""
    before = turn.job.latest(pending.quantity, subject)
    attempt, run = 1, 1
    if before is not None:
        judged = judge_reading(turn.job, turn.state.limits, before)
        again = ruling(judged) is Verdict.TOO_CLOSE and before.run < MOST_RUNS
        attempt = before.attempt if again else before.attempt + 1
        run = before.run + 1 if again else 1
    reading = Reading(
        id=f"r{turn.state.progress.accepted + 1}",
        quantity=pending.quantity,
        subject=subject,
        value=pending.value,
        unit=pending.unit,
        taken=pending.taken,
        attempt=attempt,
        run=run,
        clip=pending.clip,
    )
    job_before = turn.job
    turn.keep(ev.ReadingAccepted(reading=reading))
    findings = turn.judge_since(job_before)
    own = tuple(found for found in findings if found.reading_id == reading.id)
    verdict = ruling(own)
    worth_saying = _worth_saying(own, verdict)
    for found in worth_saying:
        turn.say(wording.finding(found), "warning" if fails(found) else "finding")
    if not worth_saying:
        turn.say(wording.FILED, "finding")
    turn.warn_of(found for found in findings if found not in own)
    return verdict or Verdict.PASS


def _worth_saying(findings: tuple[Finding, ...], verdict: Verdict | None) -> tuple[Finding, ...]:
    """Those with the ruling verdict, a pass once, and recommendations that are not kept."""
    required = [found for found in findings if found.binding is Binding.REQUIREMENT]
    ruled = [found for found in required if found.verdict is verdict]
    advised = [found for found in findings if found not in required and not _passes(found)]
    return (*(ruled[:1] if verdict is Verdict.PASS else ruled), *advised)


def _passes(finding: Finding) -> bool:
    return finding.verdict is Verdict.PASS


def _end_elsewhere(turn: Turn, pending: PendingReading, subject: Subject, verdict: Verdict) -> None:
    """A volunteered reading ends its own task, unless that must be measured again."""
    progress = turn.state.progress
    for task in turn.state.tasks:
        asked = _answers(task, pending, subject) and task.key not in progress.ended
        if asked and verdict in (Verdict.PASS, Verdict.NOT_JUDGED):
            turn.keep(ev.StepEnded(key=task.key, outcome="done"))
