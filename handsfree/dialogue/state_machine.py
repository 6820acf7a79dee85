"""The conversation: ``begin``, ``resume`` and ``answer`` map a state to the next one.

It contains no clock, sound, file or thread. Time is passed in as seconds on a monotonic clock, and
everything to say and keep is returned as an ordered list of replies.

Every utterance takes the same path: ``answer`` handles pauses and free words, ``_understood`` hands
it to the pending question, and ``_carry_out`` does the rest. The pending question decides what
*affirm*, *negative* and *disregard* do (``questions/question.py``).
"""

from __future__ import annotations

from handsfree.checks.limit_rows import looser_values
from handsfree.checks.scope import out_of_scope
from handsfree.dialogue import (
    confirm_level,
    cycle_results,
    everyday_words,
    facts,
    fault_commands,
    guide_lead,
    guide_queries,
    help_queries,
    implicit_confirmation,
    item_answers,
    leaf_measurement,
    loop_detection,
    misunderstanding,
    navigation,
    reading_intake,
    second_opinion,
    step_answers,
    stopwatch,
    verbosity,
    visit_facts,
)
from handsfree.dialogue.questions.cause_search import CauseSearchQuestion
from handsfree.dialogue.questions.hand_over import ask_now
from handsfree.dialogue.questions.jog_offer import offer_jog
from handsfree.dialogue.questions.leaf_construction import dont_know
from handsfree.dialogue.questions.note import NoteQuestion, ask_for_note
from handsfree.dialogue.questions.note_or_answer import keep_note
from handsfree.dialogue.questions.search_offer import offer
from handsfree.dialogue.questions.which_code import WhichCodeQuestion
from handsfree.dialogue.questions.withdrawal import ask_withdrawal
from handsfree.dialogue.sentences import is_word
from handsfree.dialogue.state import (
    CycleHeard,
    Heard,
    Input,
    Loop,
    Reply,
    SecondHeard,
    Silence,
    State,
    Tone,
)
from handsfree.dialogue.turn import Turn
from handsfree.job.closed_lists import Confirm, SpeechLevel
from handsfree.journal import events as ev
from handsfree.journal.motion_events import LeafMeasured
from handsfree.language.item_answers import ItemsSaid
from handsfree.language.meaning import (
    Choice,
    CodeSaid,
    Correction,
    EntrySaid,
    FactSaid,
    Found,
    GoTo,
    GoToEntry,
    HowFar,
    MeansAsked,
    MeasureLeafSaid,
    ReadBack,
    ReadingSaid,
    ReadingsSaid,
    SkipStage,
    StartClock,
    VisitFactSaid,
    WithdrawRun,
    Word,
    Worked,
)
from handsfree.language.wording import sentence

REMINDER_AFTER_S = 20.0
"""Silence after which the tool says once what it expects (s)."""
PAUSE_AFTER_S = 2.0
"""Silence after which pending advice is spoken (s)."""

AFTER_THE_ANSWER = frozenset(
    {
        *("start_clock", "measure_leaf", "withdraw_run", "go_to", "skip_stage"),
        *("done", "skip", "go_back", "withdraw", "done_later", "not_applicable", "refused"),
        *("found", "worked", "put_right", "locked_out", "proved_dead"),
    }
)
"""Kinds of utterances postponed until the pending question is answered, unless it admits them."""

Step = tuple[State, tuple[Reply, ...]]


def begin(
    state: State, now_s: float, level: SpeechLevel = "full", confirm: Confirm = "every"
) -> Step:
    """Opens the conversation at the first task."""
    turn = Turn(state.model_copy(update={"quiet_since_s": now_s}))
    if confirm != "every":
        turn.keep(ev.ConfirmSet(confirm=confirm, why="setting"))
    if level != "full":
        turn.keep(ev.SpeechSet(level=level))
    turn.say(turn.state.procedure.title + ".", "status")
    _tell_limits(turn)
    guide_lead.tell_open_cases(turn)
    navigation.go_on(turn)
    return _result(turn)


def _tell_limits(turn: Turn) -> None:
    """Says before any measurement if nothing will be judged, or which limits are looser."""
    if (why := out_of_scope(turn.job.opening)) is not None:
        turn.say(sentence(turn.words.say(why)), "warning")
    elif looser := looser_values(turn.state.limits):
        values = "; ".join(looser)
        turn.tell("looser_limits", "warning", count=len(looser), values=values)


def resume(state: State, now_s: float) -> Step:
    """Resumes the conversation after a break, at the task where it stopped."""
    turn = Turn(state.model_copy(update={"quiet_since_s": now_s}))
    help_queries.resumed(turn)
    if turn.state.progress.standing_by is not None:
        turn.tell("standing_by", "answer")
    elif turn.state.progress.search is not None:
        turn.ask(CauseSearchQuestion())
    elif not turn.ask_again():
        implicit_confirmation.say_back(turn)
        if turn.between:
            navigation.go_on(turn)
        else:
            turn.prompt()
    return _result(turn)


def answer(state: State, heard: Input, now_s: float) -> Step:
    """Takes one input; returns the next state, and what to keep and say."""
    turn = Turn(state)
    guide_lead.restore(turn)
    state = turn.state
    if isinstance(heard, Silence):
        _silence(turn, now_s)
        return _result(turn)
    if isinstance(heard, SecondHeard):
        second_opinion.take(turn, heard)
        return _result(turn)
    turn.set(quiet_since_s=now_s, reminded=False)
    if isinstance(heard, CycleHeard):
        turn.set(loop=Loop())
        cycle_results.take(turn, heard)
        return _result(turn)
    if isinstance(heard, LeafMeasured):
        turn.set(loop=Loop())
        leaf_measurement.take(turn, heard)
        return _result(turn)
    if state.progress.closed:
        pass
    elif state.progress.standing_by is not None:
        _while_standing_by(turn, heard)
    elif is_word(heard.meaning, "stop", "stand_by"):
        _stand_by(turn, stop=is_word(heard.meaning, "stop"))
    elif state.pending is not None and state.pending.free_words:
        if (left := state.pending.answer(turn, heard)) is not None:
            _carry_out(turn, left)
        loop_detection.notice(turn, state, heard)
    elif heard.meaning is None:
        turn.replies.append(Tone(sound="heard"))
        if not confirm_level.notice(turn, heard):
            misunderstanding.miss(turn, heard)
    else:
        turn.replies.append(Tone(sound="understood"))
        heard = everyday_words.in_its_sense(state, heard)
        opened = confirm_level.notice(turn, heard)
        misunderstanding.understood(turn)
        if not opened and not implicit_confirmation.before_answer(turn, heard):
            _understood(turn, heard)
        loop_detection.notice(turn, state, heard)
    implicit_confirmation.after_answer(turn, state, heard)
    return _result(turn)


def _result(turn: Turn) -> Step:
    guide_lead.lead(turn)
    return turn.state, tuple(turn.replies)


def _silence(turn: Turn, now_s: float) -> None:
    """Speaks pending advice in a pause; in a long one, a single reminder."""
    state = turn.state
    if state.progress.standing_by is not None or state.progress.closed:
        return
    quiet_s = now_s - state.quiet_since_s
    if quiet_s >= PAUSE_AFTER_S:
        turn.advise()
    if quiet_s >= REMINDER_AFTER_S and not state.reminded:
        turn.set(reminded=True)
        turn.say(turn.hint, "repair")


def _while_standing_by(turn: Turn, heard: Heard) -> None:
    if is_word(heard.meaning, "stop"):
        turn.tell("stopped", "warning")
    elif is_word(heard.meaning, "carry_on"):
        turn.keep(ev.CarriedOn())
        if not turn.ask_again():
            implicit_confirmation.say_back(turn)
            if turn.between:
                navigation.go_on(turn)
            else:
                turn.prompt()


def _stand_by(turn: Turn, *, stop: bool) -> None:
    turn.keep(ev.StoodBy(stop=stop))
    if stop and isinstance(turn.state.pending, NoteQuestion) and not turn.state.pending.defect:
        turn.wait_for(None)  # words after a stop are not a note
    if stop:
        turn.tell("stopped", "warning")
    else:
        turn.tell("standing_by", "answer")


def _understood(turn: Turn, heard: Heard) -> None:
    """Hands an utterance to the pending question, and carries out the rest of it."""
    question = turn.state.pending
    if isinstance(heard.meaning, CodeSaid) and heard.other_code is not None:
        turn.ask(WhichCodeQuestion(marks=(heard.meaning.mark, heard.other_code.mark)))
        return
    if question is None:
        _carry_out(turn, heard)
        return
    kind = heard.meaning.kind if heard.meaning is not None else ""
    left = question.answer(turn, heard)
    if left is None:
        return
    if kind in AFTER_THE_ANSWER and kind not in question.admits:
        turn.tell("first_answer", "repair")
        turn.ask_again()
    else:
        _carry_out(turn, left)


def _carry_out(turn: Turn, heard: Heard) -> None:
    match heard.meaning:
        case Word() as word:
            _word(turn, word, heard)
        case ReadBack() as asked:
            help_queries.read_back(turn, asked)
            turn.ask_again()
        case StartClock(subject=subject, together=together):
            stopwatch.start(turn, subject, together=bool(together))
        case MeasureLeafSaid(subject=subject, value=angle):
            leaf_measurement.start(turn, subject, angle)
        case WithdrawRun(value=value):
            ask_withdrawal(turn, stopwatch.of_run(turn, int(value)))
        case HowFar() as asked:
            help_queries.how_far(turn, asked)
            turn.ask_again()
        case GoTo(stage=stage):
            navigation.go_to(turn, stage)
        case SkipStage(stage=stage):
            step_answers.skip_stage(turn, stage)
        case CodeSaid() as code:
            guide_lead.take_code(turn, code, heard)
        case MeansAsked() as asked_code:
            guide_queries.what_means(turn, asked_code)
            turn.ask_again()
        case GoToEntry() as entry:
            guide_queries.go_to_entry(turn, entry)
        case EntrySaid() as entered:
            guide_queries.entered(turn, entered, heard)
        case Correction(reading=said):
            _correction(turn, said, heard)
        case Choice() as choice:
            if not facts.choose(turn, choice, heard) and not offer(turn, choice.value):
                turn.say(turn.hint, "repair")
        case FactSaid() as fact:
            facts.state(turn, fact, heard)
        case ItemsSaid() as said:
            item_answers.take(turn, said, heard)
        case VisitFactSaid() as said:
            visit_facts.state(turn, said, heard)
        case Found() as said:
            fault_commands.found(turn, said, heard)
        case Worked() as said:
            fault_commands.worked(turn, said, heard)
        case ReadingSaid() as said:
            reading_intake.propose(turn, (said,), heard)
        case ReadingsSaid(readings=readings):
            reading_intake.propose(turn, readings, heard)


def _correction(turn: Turn, said: ReadingSaid, heard: Heard) -> None:
    question = turn.state.pending
    if question is not None and question.correctable:
        reading_intake.correct(turn, question, said, heard)
    else:
        turn.tell("nothing_waits", "repair")


def _word(turn: Turn, word: Word, heard: Heard) -> None:
    question = turn.state.pending
    match word.kind:
        case "affirm" if question is not None:
            question.affirm(turn)
        case "negative" if question is not None:
            question.negative(turn)
        case "disregard" if question is not None:
            question.disregard(turn)
        case "disregard":
            turn.tell("nothing_waits", "repair")
        case "clear":
            step_answers.clear(turn)
        case "not_clear" | "negative":
            step_answers.not_clear(turn)
        case "locked_out" | "proved_dead":
            step_answers.own_word(turn, word.kind)
        case "not_locked" | "still_live":
            step_answers.bad_case(turn, word.kind, heard)
        case "say_again":
            if not turn.ask_again():
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
            if not turn.ask_again():
                navigation.prompt_again(turn)
        case "cancel_clock":
            turn.tell("clock_not_running", "answer")
        case "dont_know":
            if not offer_jog(turn):
                dont_know(turn)
        case "note":
            _note(turn, heard)
        case "affirm" | "done":
            step_answers.done(turn)
        case "skip":
            step_answers.skip(turn)
        case "go_back":
            navigation.back(turn)
        case "put_right":
            fault_commands.worked(turn, Worked(value="put_right"), heard)
        case "tagged_out" | "accepted":
            ask_now(turn)
        case "withdraw":
            ask_withdrawal(turn, turn.job.readings[-1:])
        case "what_did_we_set":
            guide_queries.what_did_we_set(turn)
            turn.ask_again()
        case _:
            # 'Correct' is half of 'incorrect', so it never counts as assent.
            turn.say(turn.hint, "repair")


def _note(turn: Turn, heard: Heard) -> None:
    """Keeps the words after 'note'; after 'note' alone asks for them."""
    if heard.text.split()[1:]:
        keep_note(turn, heard.text, heard.clip)
        if not turn.ask_again():
            navigation.prompt_again(turn)
    else:
        ask_for_note(turn)
