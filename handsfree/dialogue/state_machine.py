"""The conversation: ``begin``, ``resume`` and ``answer`` map a state to the next one.

No clock, sound, file or thread: the time comes in as seconds on any clock that only
rises, and what is to be said and kept goes out as a list of replies in order.
"""

from __future__ import annotations

from handsfree.checks.limit_rows import looser_values
from handsfree.checks.scope import outside
from handsfree.dialogue import (
    confirmations,
    facts,
    filing,
    help_queries,
    loop_detection,
    misunderstanding,
    navigation,
    reading_intake,
    second_opinion,
    stopwatch,
    verbosity,
)
from handsfree.dialogue.pending import (
    AskedNote,
    AskedOneOfTwo,
    AskedReason,
    AskedRun,
    AskedSubject,
    AskedTwoHeard,
    AskedWord,
    ClockLeaf,
    PendingClock,
    PendingReading,
    PendingReadings,
)
from handsfree.dialogue.progress import SpeechLevel
from handsfree.dialogue.sentences import is_word
from handsfree.dialogue.state import (
    Circle,
    CycleHeard,
    Heard,
    Input,
    Reply,
    SecondHeard,
    Silence,
    State,
    Tone,
)
from handsfree.dialogue.turn import Turn
from handsfree.job.reading import Subject
from handsfree.journal import events as ev
from handsfree.language.meaning import (
    Choice,
    Correction,
    FactSaid,
    GoTo,
    ReadBack,
    ReadingSaid,
    ReadingsSaid,
    StartClock,
    WithdrawRun,
    Word,
)
from handsfree.language.wording import sentence

REMINDER_AFTER_S = 20.0
PAUSE_AFTER_S = 2.0

_LEAVES = {
    "left": Subject.LEFT_LEAF,
    "right": Subject.RIGHT_LEAF,
    "both": Subject.BOTH_LEAVES,
}

Step = tuple[State, tuple[Reply, ...]]


def begin(state: State, now_s: float, level: SpeechLevel = "full") -> Step:
    """Opens the conversation at the first task."""
    turn = Turn(state.model_copy(update={"quiet_since_s": now_s}))
    if level != "full":
        turn.keep(ev.SpeechSet(level=level))
    turn.say(turn.state.procedure.title + ".", "status")
    _tell_limits(turn)
    navigation.go_on(turn)
    return _result(turn)


def _tell_limits(turn: Turn) -> None:
    """Before anything is measured: that nothing will be judged, or by what looser limits."""
    if (why := outside(turn.job.opening)) is not None:
        turn.say(sentence(turn.words.say(why)), "warning")
    elif looser := looser_values(turn.state.limits):
        values = "; ".join(looser)
        turn.tell("looser_limits", "warning", count=len(looser), values=values)


def resume(state: State, now_s: float) -> Step:
    """Takes the conversation up again after a break, at the task where it stood."""
    turn = Turn(state.model_copy(update={"quiet_since_s": now_s}))
    help_queries.resumed(turn)
    if turn.state.progress.standing_by is not None:
        turn.tell("standing_by", "answer")
    elif not confirmations.ask_again(turn):
        if turn.between:
            navigation.go_on(turn)
        else:
            turn.prompt()
    return _result(turn)


def answer(state: State, heard: Input, now_s: float) -> Step:
    """The state after one input, with what is to be kept and said."""
    turn = Turn(state)
    if isinstance(heard, Silence):
        _silence(turn, now_s)
        return _result(turn)
    if isinstance(heard, SecondHeard):
        second_opinion.take(turn, heard)
        return _result(turn)
    turn.set(quiet_since_s=now_s, reminded=False)
    if isinstance(heard, CycleHeard):
        turn.set(circle=Circle())
        if isinstance(state.pending, PendingClock):
            stopwatch.take(turn, state.pending, heard)
        return _result(turn)
    if state.progress.closed:
        pass
    elif state.progress.standing_by is not None:
        _while_standing_by(turn, heard)
    elif is_word(heard.meaning, "stop", "stand_by"):
        _stand_by(turn, stop=is_word(heard.meaning, "stop"))
    elif isinstance(state.pending, AskedNote):
        misunderstanding.take_note(turn, heard, state.pending)
        loop_detection.notice(turn, state, heard)
    elif isinstance(state.pending, AskedReason):
        misunderstanding.take_reason(turn, heard)
        loop_detection.notice(turn, state, heard)
    elif heard.meaning is None:
        turn.replies.append(Tone(sound="heard"))
        misunderstanding.miss(turn, heard.snr_db)
    else:
        turn.replies.append(Tone(sound="understood"))
        misunderstanding.understood(turn)
        _understood(turn, heard)
        loop_detection.notice(turn, state, heard)
    return _result(turn)


def _result(turn: Turn) -> Step:
    return turn.state, tuple(turn.replies)


def _silence(turn: Turn, now_s: float) -> None:
    """A pause takes the advice that waited; a long one a single reminder, then quiet."""
    state = turn.state
    if state.progress.standing_by is not None or state.progress.closed:
        return
    quiet_s = now_s - state.quiet_since_s
    if quiet_s >= PAUSE_AFTER_S:
        turn.advise()
    if quiet_s >= REMINDER_AFTER_S and not state.reminded:
        turn.set(reminded=True)
        turn.say(help_queries.fitting(turn), "repair")


def _while_standing_by(turn: Turn, heard: Heard) -> None:
    if is_word(heard.meaning, "stop"):
        turn.tell("stopped", "warning")
    elif is_word(heard.meaning, "carry_on"):
        turn.keep(ev.CarriedOn())
        if not confirmations.ask_again(turn):
            if turn.between:
                navigation.go_on(turn)
            else:
                turn.prompt()


def _stand_by(turn: Turn, *, stop: bool) -> None:
    turn.keep(ev.StoodBy(stop=stop))
    if stop:
        turn.tell("stopped", "warning")
    else:
        turn.tell("standing_by", "answer")


def _understood(turn: Turn, heard: Heard) -> None:
    pending = turn.state.pending
    match heard.meaning:
        case Word() as word:
            _word(turn, word, heard)
        case ReadBack() as asked:
            help_queries.read_back(turn, asked)
            confirmations.ask_again(turn)
        case StartClock(subject=subject, together=together):
            if pending is None or isinstance(pending, AskedRun):
                stopwatch.start(turn, subject, together=bool(together))
            else:
                _first_answer(turn)
        case WithdrawRun(value=value):
            if pending is None or isinstance(pending, AskedRun | AskedWord):
                filing.ask_withdrawal(turn, stopwatch.of_run(turn, int(value)))
            else:
                _first_answer(turn)
        case GoTo(stage=stage):
            if pending is None or isinstance(pending, AskedWord):
                navigation.go_to(turn, stage)
            else:
                _first_answer(turn)
        case Correction(reading=said):
            _correction(turn, said, heard)
        case Choice() as choice if isinstance(pending, AskedSubject):
            _which_leaf(turn, pending, choice, heard)
        case Choice(value=value) if isinstance(pending, ClockLeaf) and value in _LEAVES:
            stopwatch.start(turn, _LEAVES[value])
        case Choice() as choice:
            if not facts.choose(turn, choice):
                turn.say(help_queries.fitting(turn), "repair")
        case FactSaid() as fact:
            facts.state(turn, fact)
        case ReadingSaid() as said if isinstance(pending, AskedOneOfTwo):
            reading_intake.choose_one(turn, pending, said, heard)
        case ReadingSaid() as said if isinstance(pending, AskedTwoHeard):
            second_opinion.choose(turn, pending, said, heard)
        case ReadingSaid() as said:
            reading_intake.propose(turn, (said,), heard)
        case ReadingsSaid(readings=readings):
            reading_intake.propose(turn, readings, heard)


def _correction(turn: Turn, said: ReadingSaid, heard: Heard) -> None:
    match turn.state.pending:
        case PendingReading() as pending:
            reading_intake.correct(turn, (pending,), said, heard)
        case PendingReadings(items=items) as pending:
            reading_intake.correct(turn, items, said, heard, pending.leaves)
        case AskedOneOfTwo(reading=reading):
            reading_intake.correct(turn, (reading,), said, heard)
        case AskedTwoHeard(items=items):
            reading_intake.correct(turn, items, said, heard)
        case _:
            turn.tell("nothing_waits", "repair")


def _which_leaf(turn: Turn, asked: AskedSubject, choice: Choice, heard: Heard) -> None:
    if choice.value not in _LEAVES:
        turn.tell("which_leaf", "repair")
        return
    subject = _LEAVES[choice.value]
    said = tuple(
        one if one.subject else one.model_copy(update={"subject": subject}) for one in asked.said
    )
    turn.wait_for(None)
    reading_intake.propose(turn, said, heard.model_copy(update={"clip": asked.clip}))


def _first_answer(turn: Turn) -> None:
    turn.tell("first_answer", "repair")
    confirmations.ask_again(turn)


def _word(turn: Turn, word: Word, heard: Heard) -> None:
    pending = turn.state.pending
    match word.kind:
        case "affirm":
            confirmations.affirm(turn)
        case "negative":
            confirmations.negative(turn)
        case "correct":
            turn.say(
                help_queries.fitting(turn), "repair"
            )  # half of 'incorrect', so nobody's assent
        case "disregard":
            confirmations.disregard(turn)
        case "clear":
            confirmations.clear(turn)
        case "say_again":
            if not confirmations.ask_again(turn):
                turn.prompt(asked=True)
        case "where_am_i":
            help_queries.where_am_i(turn)
        case "what_is_left":
            help_queries.what_is_left(turn)
        case "what_is_the_limit":
            help_queries.what_is_the_limit(turn)
        case "why":
            help_queries.why(turn)
        case "help":
            help_queries.help_(turn)
        case "how_do_you_read":
            help_queries.how_do_you_read(turn, heard)
        case "speak_less" | "speak_more":
            verbosity.set_level(turn, less=word.kind == "speak_less")
        case "slower" | "faster" | "louder" | "softer":
            verbosity.change_voice(turn, word.kind)
        case "carry_on":
            if not confirmations.ask_again(turn):
                navigation.prompt_again(turn)
        case "cancel_clock":
            turn.tell("clock_not_running", "answer")
        case "note":
            misunderstanding.note(turn, heard)
        case "done_later" | "not_applicable" | "refused" if isinstance(pending, AskedWord):
            navigation.settle(turn, pending.item, word)
        case "go_back" if isinstance(pending, AskedWord):
            navigation.back(turn)
        case "withdraw" if isinstance(pending, AskedWord):
            filing.ask_withdrawal(turn, turn.job.readings[-1:])
        case _ if pending is not None:
            _first_answer(turn)
        case "done":
            confirmations.done(turn)
        case "skip":
            confirmations.skip(turn)
        case "go_back":
            navigation.back(turn)
        case "withdraw":
            filing.ask_withdrawal(turn, turn.job.readings[-1:])
        case _:
            turn.say(help_queries.fitting(turn), "repair")
