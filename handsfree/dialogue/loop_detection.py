"""Detects loops: the same question keeps coming back although every word was understood.

A misrecognized answer may be a valid request. *Push*, recognized as *why*, gets the reason for the
step, however often it is said. Such rounds are not misunderstandings, so they are counted here.
After the third round the tool reports what it heard, once, and offers another way to answer; it
repeats the offer after every third round.
"""

from __future__ import annotations

from handsfree.dialogue import misunderstanding
from handsfree.dialogue.misunderstanding import LOOP_LIMIT
from handsfree.dialogue.sentences import is_word
from handsfree.dialogue.state import Heard, Keep, Loop, State
from handsfree.dialogue.turn import Turn
from handsfree.journal import events as ev
from handsfree.language.meaning import ReadBack, Word
from handsfree.visit_record.progress import changes_progress

_SHOWN = 5
"""Number of utterances named in the report of a loop."""
_VOICE = ("slower", "faster", "louder", "softer", "speak_less", "speak_more")
_REFUSALS = ("negative", "disregard")


def notice(turn: Turn, before: State, heard: Heard) -> None:
    """Counts a turn that led nowhere as one round, and reports a loop.

    ``before`` is the state before the turn; ``heard`` is an utterance that was understood.
    """
    echoed = turn.state.echo is not None and (
        before.echo is None or turn.state.echo.question is not before.echo.question
    )
    if echoed or any(isinstance(reply, Keep) and _moves_on(reply.body) for reply in turn.replies):
        turn.set(loop=Loop())
        return
    pending = turn.state.pending
    if pending is not None and pending != before.pending:
        _keep_proposal(turn, before, heard)
    elif not is_word(heard.meaning, *_VOICE) and (
        before.pending is None or before.pending.can_loop
    ):
        dropped = before.pending is not None and pending is None
        _round(turn, heard, dropped=dropped)


def _round(turn: Turn, heard: Heard, *, dropped: bool) -> None:
    """Counts one round; ``dropped`` is true if a proposal was refused in it."""
    loop = turn.state.loop
    text = loop.proposal if dropped else heard.text
    if text is None:
        return
    rounds = (*loop.rounds, text)
    value = dropped or not isinstance(heard.meaning, Word | ReadBack)
    misfits = loop.misfits + value
    often = misfits if value else rounds.count(text)
    again = often >= LOOP_LIMIT
    seen = {"rounds": rounds, "misfits": misfits, "reported": loop.reported or again}
    turn.set(loop=loop.model_copy(update=seen))
    if again and not loop.reported:
        turn.tell("circling", "repair", heard=", ".join(rounds[-_SHOWN:]))
        misunderstanding.way_out(turn)
    elif again and often % LOOP_LIMIT == 0:
        misunderstanding.another_way(turn)


def _moves_on(body: ev.Body) -> bool:
    """True if an event moves the visit on, which a change of verbosity does not."""
    return changes_progress(body) and not isinstance(body, ev.SpeechSet | ev.ConfirmSet)


def _keep_proposal(turn: Turn, before: State, heard: Heard) -> None:
    """Remembers the words of a new proposal: they form its round if it is refused."""
    completed = before.pending is not None and before.pending.completes_reading
    kept = completed or is_word(heard.meaning, *_REFUSALS)
    if not kept:
        turn.set(loop=turn.state.loop.model_copy(update={"proposal": heard.text}))
