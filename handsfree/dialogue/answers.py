"""The words that answer: affirm, negative, disregard, clear, done, skip."""

from __future__ import annotations

from handsfree.dialogue import clock, facts, orient, propose, second_ear, values, walk, wording
from handsfree.dialogue.pending import (
    AskedOneOfTwo,
    AskedReason,
    AskedRun,
    AskedTwoHeard,
    AskedWord,
    PendingClock,
    PendingFact,
    PendingReading,
    PendingReadings,
    PendingWithdrawal,
)
from handsfree.dialogue.turn import Turn
from handsfree.journal import events as ev


def affirm(turn: Turn) -> None:
    """Files what was read back; with nothing waiting it means done."""
    match turn.state.pending:
        case PendingReading() as pending:
            values.file(turn, (pending,))
        case PendingReadings(items=items, leaves=leaves):
            values.file(turn, items, leaves)
        case AskedRun(leaves=leaves):
            clock.run(turn, leaves)
        case PendingFact() as pending:
            facts.file(turn, pending)
        case PendingWithdrawal() as pending:
            values.withdraw(turn, pending)
        case None:
            done(turn)
        case _:
            ask_again(turn)


def negative(turn: Turn) -> None:
    """Drops what was read back; a value that may have been misheard is asked for once more."""
    match turn.state.pending:
        case PendingWithdrawal():
            turn.wait_for(None)
            turn.tell("kept", "status")
            walk.prompt_again(turn)
        case PendingReading() as pending if propose.one_of_two(turn, pending):
            pass
        case None:
            turn.say(orient.fitting(turn), "repair")
        case AskedWord():
            ask_again(turn)
        case AskedRun(leaves=leaves) if len(leaves) > 1:
            clock.run(turn, leaves[1:])
        case AskedRun():
            turn.wait_for(None)
            walk.prompt_again(turn)
        case _:
            turn.wait_for(None)
            dropped = turn.words.say("dropped")
            turn.say(f"{dropped} {orient.fitting(turn)}".rstrip(), "repair")
            if turn.between:
                walk.go_on(turn)


def disregard(turn: Turn) -> None:
    """Drops whatever waits for an answer."""
    match turn.state.pending:
        case None:
            turn.tell("nothing_waits", "repair")
        case AskedWord():
            ask_again(turn)
        case _:
            drop(turn)


def drop(turn: Turn) -> None:
    """Nothing waits any more; back to the task at hand."""
    turn.wait_for(None)
    turn.tell("dropped", "status")
    walk.prompt_again(turn)


def clear(turn: Turn) -> None:
    """Acknowledges the caution of the task at hand."""
    task = turn.task
    if task is None or not turn.caution_open or task.step.word != "clear":
        turn.say(orient.fitting(turn), "repair")
        return
    turn.keep(ev.CautionAcknowledged(key=task.key, word="clear"))
    if task.step.waits == "caution":
        walk.end(turn, "done")
    else:
        turn.prompt()


def done(turn: Turn) -> None:
    """Ends the task at hand, where nothing more is owed to it."""
    task = turn.task
    if task is None or turn.between:
        walk.prompt_again(turn)
        return
    step, w = task.step, turn.words
    if turn.caution_open:
        turn.tell("wants_word", "repair", word=w.name("word", step.word or ""))
    elif step.waits == "done" or (step.quantity and turn.job.latest(step.quantity, task.subject)):
        walk.end(turn, "done")
    elif step.waits == "reading":
        turn.tell("reading_missing", "repair", wait=wording.waits_for(w, step))
    else:
        turn.say(wording.waits_for(w, step), "repair")


def skip(turn: Turn) -> None:
    """Asks for the reason of leaving a step out."""
    if turn.task is None or turn.between or not turn.task.step.may_skip:
        turn.tell("no_skip", "repair")
        return
    turn.wait_for(AskedReason())
    turn.tell("skip_reason", "readback")


def ask_again(turn: Turn) -> bool:
    """Repeats the question that waits for an answer; False when none does."""
    match turn.state.pending:
        case PendingReading() as p:
            propose.read_back(turn, (p,))
        case PendingReadings(items=items, leaves=leaves):
            propose.read_back(turn, items, leaves=leaves)
        case PendingClock(leaves=leaves):
            clock.run(turn, leaves)
        case PendingFact() as p:
            facts.tell(turn, p)
        case PendingWithdrawal() as p:
            values.tell_withdrawal(turn, p.readings)
        case AskedOneOfTwo(reading=reading):
            propose.ask_one_of_two(turn, reading)
        case AskedTwoHeard() as asked:
            second_ear.ask(turn, asked)
        case AskedWord(item=item):
            walk.ask(turn, item)
        case None:
            return False
        case _:
            turn.say(orient.fitting(turn), "repair")
    return True
