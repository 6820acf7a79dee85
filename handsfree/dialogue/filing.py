"""Files and judges affirmed readings, and asks for another measurement if needed."""

from __future__ import annotations

from handsfree.dialogue import attempts, last_visit, navigation, sentences, verdicts
from handsfree.dialogue.proposed_reading import ProposedReading
from handsfree.dialogue.questions.another_run import continue_timing
from handsfree.dialogue.turn import Turn, worst
from handsfree.job.finding import Finding, Verdict
from handsfree.job.reading import Reading, Subject
from handsfree.journal import events as ev
from handsfree.procedure.step import Task


def file(turn: Turn, items: tuple[ProposedReading, ...], leaves: tuple[Subject, ...] = ()) -> None:
    """Files affirmed readings one after the other, judges each and speaks the verdicts.

    ``leaves`` are the leaves being timed.
    """
    turn.wait_for(None)
    task = None if turn.between else turn.task
    filed: list[verdicts.Filed] = []
    earlier: list[Finding] = []
    subjects = {subject for pending in items for subject in pending.subjects}
    adjusted = {subject: attempts.adjusted_before(turn, subject) for subject in subjects}
    for pending in items:
        for subject in pending.subjects:
            one, others = file_one(turn, pending, subject, adjusted=adjusted[subject])
            filed = [each.updated_by(others) for each in filed] + [one]
            earlier += [found for found in others if all(found not in f.findings for f in filed)]
    # Several runs are judged together, with the last one.
    latest = {(each.reading.quantity, each.reading.subject): each for each in filed}
    filed = list(latest.values())
    earlier = [found for found in earlier if (found.quantity, found.subject) not in latest]
    verdicts.tell(turn, filed)
    last_visit.tell(turn, [each.reading for each in filed])
    turn.warn_of(earlier)
    answers = [each for each in filed if task is not None and answers_task(each.reading, task)]
    for each in filed:
        if each not in answers:
            _end_elsewhere(turn, each)
    ruled = worst([each.outcome for each in answers])
    if leaves and continue_timing(turn, items, leaves):
        return
    if task is None or ruled is None:
        turn.advise()  # before the next question, not after it
        navigation.prompt_again(turn)
    elif not _again(turn, task, ruled):
        turn.advise()
        navigation.end(turn, "failed" if ruled is Verdict.FAIL else "done")


def _again(turn: Turn, task: Task, ruled: Verdict) -> bool:
    """Asks for another measurement if one is due; returns whether it did."""
    quantity = task.step.quantity
    if quantity is None or task.step.attempts < 2:
        return False
    latest = turn.job.latest(quantity, task.subject)
    if ruled is Verdict.FAIL and latest is not None:
        _adjust(turn, task, latest)
        return True
    if ruled is not Verdict.TOO_CLOSE:
        return False
    turn.advise()
    if attempts.helps(turn, quantity, task.subject):
        turn.tell("measure_again", "prompt")
        return True
    if latest is None:
        return False
    _adjust(turn, task, latest)
    return True


def _adjust(turn: Turn, task: Task, latest: Reading) -> None:
    """Says what to set, every time; after several attempts, also how to leave it as it is."""
    turn.advise()
    turn.say(sentences.adjust(turn.words, task.step, task.subject), "prompt")
    if latest.attempt >= task.step.attempts:
        turn.tell("or_leave", "prompt")


def answers_task(reading: Reading, task: Task) -> bool:
    """True if a reading is the one that a task asks for."""
    return task.step.quantity is reading.quantity and task.subject is reading.subject


def file_one(
    turn: Turn, pending: ProposedReading, subject: Subject, adjusted: bool = False
) -> tuple[verdicts.Filed, tuple[Finding, ...]]:
    """Accepts a reading for one subject and judges it, along with findings that it changes.

    ``adjusted`` is True if a time of the leaf had to be adjusted before this one was taken.
    """
    attempt, run = attempts.number(
        turn,
        pending.quantity,
        subject,
        pending.taken,
        pending.log,
        pending.cycles,
        adjusted=adjusted,
    )
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
        marks_s=pending.marks_s,
        angle_sd_deg=pending.angle_sd_deg,
        second_ear=pending.second_ear,
        log=pending.log,
        largest_speed=pending.largest_speed,
        known=pending.known,
    )
    job_before = turn.job
    turn.keep(ev.ReadingAccepted(reading=reading))
    findings = turn.judge_since(job_before)
    own = tuple(found for found in findings if found.reading_id == reading.id)
    others = tuple(found for found in findings if found not in own)
    return verdicts.Filed(reading=reading, findings=own), others


def _end_elsewhere(turn: Turn, filed: verdicts.Filed) -> None:
    """Ends the task of a volunteered reading, unless it has to be measured again.

    A skipped task ends regardless of the verdict.
    """
    passed = filed.outcome in (Verdict.PASS, Verdict.NOT_JUDGED)
    for task in turn.state.tasks:
        outcome = turn.state.progress.ended.get(task.key)
        if not answers_task(filed.reading, task) or outcome in ("done", "failed"):
            continue
        if passed or outcome == "skipped":
            turn.keep(ev.StepEnded(key=task.key, outcome="done" if passed else "failed"))
        return  # as found and as left are two steps, and a reading answers only one of them
