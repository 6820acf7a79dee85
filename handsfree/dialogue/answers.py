"""The words that answer: affirm, negative, disregard, clear, done, skip."""

from __future__ import annotations

from handsfree.dialogue import facts, orient, values, wording
from handsfree.dialogue.state import (
    AskedReason,
    PendingFact,
    PendingReading,
    PendingWithdrawal,
)
from handsfree.dialogue.turn import Turn
from handsfree.journal import events as ev


def affirm(turn: Turn) -> None:
    """Files what was read back; with nothing waiting it means done."""
    match turn.state.pending:
        case PendingReading() as pending:
            values.file(turn, pending)
        case PendingFact() as pending:
            facts.file(turn, pending)
        case PendingWithdrawal() as pending:
            values.withdraw(turn, pending)
        case _ if turn.state.pending is not None:
            turn.say(orient.fitting(turn), "repair")
        case _:
            done(turn)


def negative(turn: Turn) -> None:
    """Drops what was read back."""
    match turn.state.pending:
        case PendingWithdrawal():
            turn.wait_for(None)
            turn.say(wording.KEPT, "status")
            turn.prompt(brief=True)
        case None:
            turn.say(orient.fitting(turn), "repair")
        case _:
            turn.wait_for(None)
            turn.say(f"{wording.DROPPED} {orient.fitting(turn)}", "repair")


def disregard(turn: Turn) -> None:
    """Drops whatever waits for an answer."""
    if turn.state.pending is None:
        turn.say(wording.NOTHING_WAITS, "repair")
        return
    turn.wait_for(None)
    turn.say(wording.DROPPED, "status")
    turn.prompt(brief=True)


def clear(turn: Turn) -> None:
    """Acknowledges the caution of the task at hand."""
    task = turn.task
    if task is None or not turn.caution_open or task.step.word != "clear":
        turn.say(orient.fitting(turn), "repair")
        return
    turn.keep(ev.CautionAcknowledged(key=task.key, word="clear"))
    if task.step.waits == "caution":
        turn.end("done")
    else:
        turn.prompt()


def done(turn: Turn) -> None:
    """Ends the task at hand, where nothing more is owed to it."""
    task = turn.task
    if task is None:
        return
    step = task.step
    if turn.caution_open:
        turn.say(wording.wants_word(step.word or ""), "repair")
    elif step.waits == "done" or (step.quantity and turn.job.latest(step.quantity, task.subject)):
        turn.end("done")
    elif step.waits == "reading":
        turn.say(wording.needs_value(step), "repair")
    else:
        turn.say(wording.waits_for(step), "repair")


def skip(turn: Turn) -> None:
    """Asks for the reason of leaving a step out."""
    if turn.task is None or not turn.task.step.may_skip:
        turn.say(wording.NO_SKIP, "repair")
        return
    turn.wait_for(AskedReason())
    turn.say(wording.SKIP_REASON, "prompt")


def ask_again(turn: Turn) -> bool:
    """Repeats the question that waits for an answer; False when none does."""
    match turn.state.pending:
        case PendingReading() as p:
            turn.say(wording.readback(p.subjects, p.quantity, p.measure), "readback")
        case PendingFact() as p:
            turn.say(wording.fact_readback(p.fact, p.say), "readback")
        case PendingWithdrawal() as p:
            turn.say(wording.withdrawal(p.reading), "readback")
        case None:
            return False
        case _:
            turn.say(orient.fitting(turn), "prompt")
    return True
