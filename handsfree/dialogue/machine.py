"""The conversation: ``begin``, ``resume`` and ``answer`` map a state to the next one.

No clock, sound, file or thread: the time comes in as seconds on any clock that only
rises, and what is to be said and kept goes out as a list of replies in order.
"""

from __future__ import annotations

from handsfree.dialogue import answers, facts, orient, values, wording
from handsfree.dialogue.state import (
    AskedNote,
    AskedReason,
    AskedSubject,
    Heard,
    Input,
    PendingReading,
    Reply,
    Silence,
    State,
)
from handsfree.dialogue.turn import Turn
from handsfree.grammar.meaning import (
    Choice,
    Correction,
    FactSaid,
    ReadBack,
    ReadingSaid,
    StartClock,
    Word,
)
from handsfree.job.reading import Subject
from handsfree.journal import events as ev

REMINDER_AFTER_S = 20.0

Step = tuple[State, tuple[Reply, ...]]


def begin(state: State, now_s: float) -> Step:
    """Opens the conversation at the first task."""
    turn = Turn(state.model_copy(update={"quiet_since_s": now_s}))
    turn.say(turn.state.procedure.title + ".", "status")
    turn.go_on()
    return _result(turn)


def resume(state: State, now_s: float) -> Step:
    """Takes the conversation up again after a break, at the task where it stood."""
    turn = Turn(state.model_copy(update={"quiet_since_s": now_s}))
    keys = [task.key for task in turn.state.tasks]
    over = sum(key in turn.state.progress.ended for key in keys)
    turn.say(wording.resumed(over, len(keys)), "status")
    if turn.state.progress.standing_by is not None:
        turn.say(wording.STANDING_BY, "prompt")
    elif turn.task is None or turn.task.key in turn.state.progress.ended:
        turn.go_on()
    elif not answers.ask_again(turn):
        turn.prompt()
    return _result(turn)


def answer(state: State, heard: Input, now_s: float) -> Step:
    """The state after one input, with what is to be kept and said."""
    turn = Turn(state)
    if isinstance(heard, Silence):
        _silence(turn, now_s)
        return _result(turn)
    turn.set(quiet_since_s=now_s, reminded=False)
    if state.progress.standing_by is not None:
        _while_standing_by(turn, heard)
    elif isinstance(heard.meaning, Word) and heard.meaning.kind in ("stop", "stand_by"):
        _stand_by(turn, stop=heard.meaning.kind == "stop")
    elif isinstance(state.pending, AskedNote):
        _note(turn, heard, state.pending)
    elif isinstance(state.pending, AskedReason):
        _reason(turn, heard)
    elif heard.meaning is None:
        _miss(turn)
    else:
        _understood(turn, heard)
    return _result(turn)


def _result(turn: Turn) -> Step:
    return turn.state, tuple(turn.replies)


def _silence(turn: Turn, now_s: float) -> None:
    """One reminder, then quiet until spoken to."""
    state = turn.state
    waited = now_s - state.quiet_since_s >= REMINDER_AFTER_S
    if waited and not state.reminded and state.progress.standing_by is None:
        turn.set(reminded=True)
        turn.say(orient.fitting(turn), "repair")


def _while_standing_by(turn: Turn, heard: Heard) -> None:
    if isinstance(heard.meaning, Word) and heard.meaning.kind == "stop":
        turn.say(wording.STOPPED, "warning")
    elif isinstance(heard.meaning, Word) and heard.meaning.kind == "carry_on":
        turn.keep(ev.CarriedOn())
        if not answers.ask_again(turn):
            turn.prompt()


def _stand_by(turn: Turn, *, stop: bool) -> None:
    turn.keep(ev.StoodBy(stop=stop))
    turn.say(wording.STOPPED if stop else wording.STANDING_BY, "warning" if stop else "status")


def _miss(turn: Turn) -> None:
    """Not understood: say again, then an example, then spelling or typing."""
    misses = turn.state.misses + 1
    turn.set(misses=misses)
    if misses == 1:
        turn.say(wording.SAY_AGAIN, "repair")
    elif misses == 2:
        turn.say(orient.fitting(turn), "repair")
    else:
        turn.say(wording.SPELL_OR_TYPE, "repair")


def _note(turn: Turn, heard: Heard, asked: AskedNote) -> None:
    if isinstance(heard.meaning, Word) and heard.meaning.kind == "disregard" and not asked.defect:
        turn.wait_for(None)
        turn.say(wording.DROPPED, "status")
        turn.prompt(brief=True)
        return
    if isinstance(heard.meaning, Word) and heard.meaning.kind == "say_again":
        turn.say(wording.WHAT_IS_WRONG if asked.defect else wording.NOTE_GO_AHEAD, "prompt")
        return
    _keep_note(turn, heard)
    if asked.defect:
        turn.end("failed")
    else:
        turn.prompt(brief=True)


def _keep_note(turn: Turn, heard: Heard) -> None:
    turn.wait_for(None)
    turn.keep(ev.NoteKept(step_key=turn.state.progress.at, text=heard.text, clip=heard.clip))
    turn.say(wording.NOTE_KEPT, "status")


def _reason(turn: Turn, heard: Heard) -> None:
    kind = heard.meaning.kind if isinstance(heard.meaning, Word) else None
    if kind in ("disregard", "negative"):
        turn.wait_for(None)
        turn.say(wording.DROPPED, "status")
        turn.prompt(brief=True)
    elif kind == "say_again":
        turn.say(wording.SKIP_REASON, "prompt")
    else:
        turn.wait_for(None)
        turn.end("skipped", heard.text, heard.clip)


def _understood(turn: Turn, heard: Heard) -> None:
    turn.set(misses=0)
    pending = turn.state.pending
    match heard.meaning:
        case Word() as word:
            _word(turn, word, heard)
        case ReadBack() as asked:
            orient.read_back(turn, asked)
            answers.ask_again(turn)
        case StartClock():
            turn.say(wording.NO_CLOCK, "answer")
        case Correction(reading=said) if isinstance(pending, PendingReading):
            values.correct(turn, pending, said, heard)
        case Correction():
            turn.say(wording.NOTHING_WAITS, "repair")
        case Choice() as choice if isinstance(pending, AskedSubject):
            _which_leaf(turn, pending, choice, heard)
        case Choice() as choice:
            if not facts.choose(turn, choice, heard):
                turn.say(orient.fitting(turn), "repair")
        case FactSaid() as fact:
            facts.state(turn, fact)
        case ReadingSaid() as said:
            values.propose(turn, said, heard)


def _which_leaf(turn: Turn, asked: AskedSubject, choice: Choice, heard: Heard) -> None:
    subjects = {
        "left": Subject.LEFT_LEAF,
        "right": Subject.RIGHT_LEAF,
        "both": Subject.BOTH_LEAVES,
    }
    if choice.value not in subjects:
        turn.say(wording.WHICH_LEAF, "repair")
        return
    said = asked.said.model_copy(update={"subject": subjects[choice.value]})
    turn.wait_for(None)
    values.propose(turn, said, heard.model_copy(update={"clip": asked.clip}))


def _word(turn: Turn, word: Word, heard: Heard) -> None:
    pending = turn.state.pending
    match word.kind:
        case "affirm":
            answers.affirm(turn)
        case "negative":
            answers.negative(turn)
        case "disregard":
            answers.disregard(turn)
        case "clear":
            answers.clear(turn)
        case "say_again":
            if not answers.ask_again(turn):
                turn.prompt()
        case "where_am_i":
            orient.where_am_i(turn)
        case "what_is_left":
            orient.what_is_left(turn)
        case "what_is_the_limit":
            orient.what_is_the_limit(turn)
        case "why":
            orient.why(turn)
        case "help":
            orient.help_(turn)
        case "how_do_you_read":
            orient.how_do_you_read(turn, heard)
        case "carry_on":
            turn.prompt(brief=True)
        case "cancel_clock":
            turn.say(wording.NO_CLOCK, "answer")
        case "note":
            if heard.text.split()[1:]:
                _keep_note(turn, heard)
                turn.prompt(brief=True)
            else:
                turn.wait_for(AskedNote())
                turn.say(wording.NOTE_GO_AHEAD, "prompt")
        case _ if pending is not None:
            turn.say(wording.FIRST_ANSWER, "repair")
            answers.ask_again(turn)
        case "done":
            answers.done(turn)
        case "skip":
            answers.skip(turn)
        case "go_back":
            turn.back()
        case "withdraw":
            values.ask_withdrawal(turn)
