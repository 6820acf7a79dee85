"""The words that answer: affirm, negative, disregard, clear, done, skip."""

from __future__ import annotations

from handsfree.dialogue import (
    facts,
    filing,
    help_queries,
    navigation,
    reading_intake,
    second_opinion,
    sentences,
    stopwatch,
)
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
            filing.file(turn, (pending,))
        case PendingReadings(items=items, leaves=leaves):
            filing.file(turn, items, leaves)
        case AskedRun(leaves=leaves):
            stopwatch.run(turn, leaves)
        case PendingFact() as pending:
            facts.file(turn, pending)
        case PendingWithdrawal() as pending:
            filing.withdraw(turn, pending)
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
            navigation.prompt_again(turn)
        case PendingReading() as pending if reading_intake.one_of_two(turn, pending):
            pass
        case None:
            turn.say(help_queries.fitting(turn), "repair")
        case AskedWord():
            ask_again(turn)
        case AskedRun(leaves=leaves) if len(leaves) > 1:
            stopwatch.run(turn, leaves[1:])
        case AskedRun():
            turn.wait_for(None)
            navigation.prompt_again(turn)
        case _:
            turn.wait_for(None)
            dropped = turn.words.say("dropped")
            turn.say(f"{dropped} {help_queries.fitting(turn)}".rstrip(), "repair")
            if turn.between:
                navigation.go_on(turn)


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
    navigation.prompt_again(turn)


def clear(turn: Turn) -> None:
    """Acknowledges the caution of the task at hand."""
    task = turn.task
    if task is None or not turn.caution_open or task.step.word != "clear":
        turn.say(help_queries.fitting(turn), "repair")
        return
    turn.keep(ev.CautionAcknowledged(key=task.key, word="clear"))
    if task.step.waits == "caution":
        navigation.end(turn, "done")
    else:
        turn.prompt()


def done(turn: Turn) -> None:
    """Ends the task at hand, where nothing more is owed to it."""
    task = turn.task
    if task is None or turn.between:
        navigation.prompt_again(turn)
        return
    step, w = task.step, turn.words
    if turn.caution_open:
        turn.tell("wants_word", "repair", word=w.name("word", step.word or ""))
    elif step.waits == "done" or (step.quantity and turn.job.latest(step.quantity, task.subject)):
        navigation.end(turn, "done")
    elif step.waits == "reading":
        turn.tell("reading_missing", "repair", wait=sentences.waits_for(w, step))
    else:
        turn.say(sentences.waits_for(w, step), "repair")


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
            reading_intake.read_back(turn, (p,))
        case PendingReadings(items=items, leaves=leaves):
            reading_intake.read_back(turn, items, leaves=leaves)
        case PendingClock(leaves=leaves):
            stopwatch.run(turn, leaves)
        case PendingFact() as p:
            facts.tell(turn, p)
        case PendingWithdrawal() as p:
            filing.tell_withdrawal(turn, p.readings)
        case AskedOneOfTwo(reading=reading):
            reading_intake.ask_one_of_two(turn, reading)
        case AskedTwoHeard() as asked:
            second_opinion.ask(turn, asked)
        case AskedWord(item=item):
            navigation.ask(turn, item)
        case None:
            return False
        case _:
            turn.say(help_queries.fitting(turn), "repair")
    return True
