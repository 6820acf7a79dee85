"""Implicit confirmation: a clear answer is said back with the next prompt, and then counts.

It counts once the next prompt gets a fitting answer, or at once by 'affirm'. Until then it is not
in the journal: silence, chat and requests for information accept nothing, and a break does not
change that. 'Negative', 'disregard', 'correction', 'go back', 'withdraw that' and another value
take it back, also one answer later. 'No' at a yes-or-no step is its bad case, which is read back;
if that is refused, the 'no' was meant for the echoed answer (everyday_words.py).
"""

from __future__ import annotations

from handsfree.dialogue import navigation
from handsfree.dialogue.everyday_words import is_bad_case
from handsfree.dialogue.questions.fact import FactQuestion, answers_step
from handsfree.dialogue.questions.note import NoteQuestion
from handsfree.dialogue.questions.question import Question
from handsfree.dialogue.questions.visit_fact_check import VisitFactCheckQuestion
from handsfree.dialogue.questions.visit_fact_words import VisitFactWordsQuestion
from handsfree.dialogue.sentences import is_word
from handsfree.dialogue.state import EchoedAnswer, Heard, Keep, Say, State, TimeCycle, Tone
from handsfree.dialogue.turn import Turn
from handsfree.job.closed_lists import Accepted
from handsfree.job.finding import Verdict
from handsfree.job.reading import Taken
from handsfree.journal import events as ev
from handsfree.journal.paper_events import VisitFactKept, VisitFactWithdrawn
from handsfree.language.meaning import Choice, Correction, ReadingSaid, ReadingsSaid, Word
from handsfree.visit_record.progress import apply, changes_progress

NOISE_DB = 10.0
"""Speech-to-noise ratio below which a value needs its 'affirm' (dB)."""

_ACCEPTED = (ev.ReadingAccepted, ev.FactAccepted)
_NO_ANSWER = (
    *(ev.NoteKept, ev.SpeechSet, ev.ConfirmSet, ev.StoodBy, ev.CarriedOn),
    *(VisitFactKept, VisitFactWithdrawn),
)
"""Events that take the visit forward without answering a prompt."""
_CLEAR = (Verdict.PASS, Verdict.NOT_JUDGED)


def put(turn: Turn, question: Question, heard: Heard | None = None) -> None:
    """Says a clear answer back with the next prompt; asks for 'affirm' if it is needed.

    ``heard`` is the utterance that gave the answer, None for a timed run.
    """
    spoken = question.echo(turn) if _heard_clearly(turn, heard) else ""
    how: Accepted = "implicit"
    if heard is not None and heard.taken is Taken.TYPED:
        how = "typed"
    ahead = _ahead(turn.state, question, how) if spoken else None
    if ahead is None:
        turn.ask(question)
        return
    turn.state = ahead.state
    turn.say(spoken, "readback")
    w = turn.words
    plain = (w.say("verdict_pass"), w.say("filed"))
    turn.replies += [
        reply
        for reply in ahead.replies
        if not isinstance(reply, Keep)
        and reply != Tone(sound="accepted")
        and not (isinstance(reply, Say) and reply.role == "finding" and reply.text in plain)
    ]


def before_answer(turn: Turn, heard: Heard) -> bool:
    """Takes an echoed answer back, or accepts it by 'affirm', before the utterance is carried out.

    Returns True if nothing else remains to be done. An answer taken back then waits for 'affirm'
    like any other, so that the usual words still apply.
    """
    state, said = turn.state, heard.meaning
    echo, recent = state.echo, state.recent
    if state.pending is not None and _names_it_again(turn, state.pending, echo or recent, heard):
        _take_back_for_another(turn, echo or recent)
        return False
    if state.pending is not None and echo is not None:
        return _no_meant_the_echo(turn, echo, heard)
    if state.pending is not None or said is None:
        return False
    if echo is not None:
        if is_word(said, "affirm"):
            _count(turn, echo, "explicit")
            navigation.prompt_again(turn)
            return True
        if is_word(said, "negative", "disregard", "go_back", "withdraw"):
            restore(turn, echo.question)
            echo.question.disregard(turn)
            return True
        if is_word(said, "say_again", "carry_on"):
            say_back(turn)
            return False
        if _replaces(turn, echo, heard):
            restore(turn, echo.question)
            return False
        by_chance = heard.retried and isinstance(said, Word)
        if by_chance or (isinstance(said, Choice) and not answers_step(turn, said)):
            restore(turn, echo.question)
            turn.tell("first_answer", "repair")
            turn.ask_again()
            return True
        if said.kind in ("go_to", "withdraw_run"):
            restore(turn, echo.question)
            return False
    if recent is not None:
        if echo is None and is_word(said, "negative", "disregard"):
            _undo(turn, recent)
            turn.tell("withdrawn", "status")
            turn.prompt(brief=True)
            return True
        if _replaces(turn, recent, heard):
            if echo is not None:
                restore(turn, None)
            _undo(turn, recent)
            turn.set(pending=recent.question)
    return False


def _no_meant_the_echo(turn: Turn, echo: EchoedAnswer, heard: Heard) -> bool:
    """Asks about the echoed answer after a 'no' that was read back as the bad case and refused."""
    question = turn.state.pending
    bad = isinstance(question, FactQuestion) and question.is_bad
    if not bad or not is_word(heard.meaning, "negative", "disregard"):
        return False
    restore(turn, echo.question)
    turn.ask_again()
    return True


def _names_it_again(
    turn: Turn, question: Question, last: EchoedAnswer | None, heard: Heard
) -> bool:
    """Whether a reading is named again, with another value, while a question about something else
    waits. A bare number is the answer to that question.
    """
    match heard.meaning:
        case ReadingSaid() as one:
            named = {one.quantity}
        case ReadingsSaid(readings=readings):
            named = {one.quantity for one in readings}
        case Correction(reading=one):
            named = {one.quantity}
        case _:
            return False
    if last is None or None in named or question.completes_reading or question.free_words:
        return False
    asked = {item.quantity for item in question.correctable}
    return not named & asked and _replaces(turn, last, heard)


def _take_back_for_another(turn: Turn, last: EchoedAnswer | None) -> None:
    """Takes back an answer that was said back last; its question waits for the other value."""
    if last is None:
        return
    if turn.state.echo is not None:
        restore(turn, last.question)
    else:
        _undo(turn, last)
        turn.set(pending=last.question)


def say_back(turn: Turn) -> None:
    """Repeats the echoed answer, if there is one."""
    if turn.state.echo is not None:
        turn.say(turn.state.echo.question.echo(turn), "readback")


def takes_back(state: State, heard: Heard) -> bool:
    """True if an utterance takes back an answer that was accepted without 'affirm'."""
    if state.pending is not None or heard.meaning is None:
        return False
    turn, words = Turn(state), ("negative", "disregard")
    if state.echo is not None and (
        is_word(heard.meaning, *words, "go_back", "withdraw") or _replaces(turn, state.echo, heard)
    ):
        return True
    if state.recent is None:
        return False
    refused = state.echo is None and is_word(heard.meaning, *words)
    return refused or _replaces(turn, state.recent, heard)


def after_answer(turn: Turn, before: State, heard: Heard) -> None:
    """Accepts the echoed answer if the utterance answered the prompt that came with it."""
    echo = before.echo
    if echo is None:
        if _moved_on(turn) or turn.state.echo is not None:
            turn.set(recent=None)
        return
    if turn.state.echo is None:
        return  # it was taken back, or accepted by 'affirm'
    if turn.state.echo.question is not echo.question or _answered(turn, before, heard):
        _count(turn, echo, None)
        return
    kept = [reply.body for reply in turn.replies if isinstance(reply, Keep)]
    without = turn.state.echo.before
    for body in kept:
        without = apply(without, body)
    if kept:
        turn.set(echo=turn.state.echo.model_copy(update={"before": without}))


def restore(turn: Turn, question: Question | None) -> None:
    """Takes the echoed answer back and makes ``question`` the pending one."""
    echo = turn.state.echo
    if echo is not None:
        turn.set(progress=echo.before, advice=echo.advice, echo=None, pending=question)


def renew(turn: Turn, question: Question) -> None:
    """Replaces the question of the echoed answer with one about the same values."""
    echo = turn.state.echo
    if echo is None:
        return
    how: Accepted = "implicit"
    for body in echo.bodies:
        if isinstance(body, _ACCEPTED):
            how = body.how
    before = turn.state.model_copy(update={"progress": echo.before, "advice": echo.advice})
    ahead = _ahead(before, question, how)
    if ahead is not None:
        turn.state = ahead.state.model_copy(update={"pending": turn.state.pending})


def _heard_clearly(turn: Turn, heard: Heard | None) -> bool:
    if turn.state.progress.confirm == "every":
        return False
    if heard is None:
        return True
    noisy = heard.snr_db is not None and heard.snr_db < NOISE_DB
    return not noisy and not heard.retried


def _ahead(state: State, question: Question, how: Accepted) -> Turn | None:
    """Simulates the turn in which the answer counts; None if it may not count without 'affirm'.

    It has to lead to the prompt of a step, and it must not make anything fail or too close to call.
    """
    turn = Turn(state.model_copy(update={"pending": question, "echo": None}))
    question.affirm(turn)
    bodies = [reply.body for reply in turn.replies if isinstance(reply, Keep)]
    judged = [found for body in bodies if isinstance(body, ev.Judged) for found in body.findings]
    if turn.state.pending is not None or turn.between or turn.state.progress.closed:
        return None
    if any(found.verdict not in _CLEAR for found in judged):
        return None
    if any(isinstance(reply, TimeCycle) for reply in turn.replies):
        return None
    echo = EchoedAnswer(
        question=question,
        bodies=_accepted(bodies, how),
        before=state.progress,
        advice=state.advice,
    )
    turn.set(echo=echo)
    return turn


def _accepted(bodies: list[ev.Body], how: Accepted) -> tuple[ev.Body, ...]:
    return tuple(
        body.model_copy(update={"how": how}) if isinstance(body, _ACCEPTED) else body
        for body in bodies
    )


def _count(turn: Turn, echo: EchoedAnswer, how: Accepted | None) -> None:
    """Accepts an echoed answer: stores its events before the utterance that accepted it."""
    explicit = how == "explicit"
    bodies = _accepted(list(echo.bodies), "explicit") if explicit else echo.bodies
    kept = [Keep(body=body, earlier=not explicit) for body in bodies]
    tone = Tone(sound="accepted")
    turn.replies[:0] = [*kept, *(() if tone in turn.replies else (tone,))]
    if turn.state.echo is not None and turn.state.echo.question is echo.question:
        turn.set(echo=None)
    turn.set(recent=None if explicit else echo)


def _answered(turn: Turn, before: State, heard: Heard) -> bool:
    """True if an utterance answered the prompt: it took the visit forward, or led to a question.

    An answer found only by the second recognition pass accepts nothing before its own 'affirm'.
    Neither does 'no', which may refer to the echoed answer.
    """
    if _moved_on(turn):
        return True
    pending = turn.state.pending
    if pending is None or pending == before.pending or heard.retried:
        return False
    if is_bad_case(heard.meaning):
        return False
    if isinstance(pending, VisitFactWordsQuestion | VisitFactCheckQuestion):
        return False
    return not (isinstance(pending, NoteQuestion) and not pending.defect)


def _moved_on(turn: Turn) -> bool:
    kept = [reply.body for reply in turn.replies if isinstance(reply, Keep)]
    return any(changes_progress(body) and not isinstance(body, _NO_ANSWER) for body in kept)


def _replaces(turn: Turn, echo: EchoedAnswer, heard: Heard) -> bool:
    """True if an utterance gives another value for the echoed answer."""
    said = heard.meaning
    if isinstance(said, Correction):
        bare = said.reading.quantity is None and said.reading.subject is None
        last = turn.state.echo is None or echo is turn.state.echo
        items = echo.question.correctable
        if bare:
            nothing_nearer = turn.state.echo is None or not turn.state.echo.question.correctable
            return len(items) == 1 and (last or nothing_nearer)
        return any(
            said.reading.quantity in (None, item.quantity)
            and (said.reading.subject is None or said.reading.subject in item.subjects)
            for item in items
        )
    return echo.question.is_replaced_by(turn, said)


def _undo(turn: Turn, recent: EchoedAnswer) -> None:
    """Takes back an answer that already counts, and enters its step again."""
    job_before = turn.job
    for body in recent.bodies:
        if isinstance(body, ev.ReadingAccepted):
            turn.keep(ev.ReadingWithdrawn(reading_id=body.reading.id))
        elif isinstance(body, ev.FactAccepted):
            turn.keep(ev.FactWithdrawn(subject=body.fact.subject, name=body.fact.name))
    turn.warn_of(turn.judge_since(job_before))
    there = {task.key for task in turn.state.tasks}
    ended = [body.key for body in recent.bodies if isinstance(body, ev.StepEnded)]
    at = recent.before.at
    # The step that was asked is entered last; the others are only reopened.
    for key in sorted(ended, key=lambda each: each == at):
        if key in there:
            turn.keep(ev.StepEntered(key=key))
    turn.set(recent=None)
