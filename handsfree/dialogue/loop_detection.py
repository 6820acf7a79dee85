"""Notices that the same question comes back although every word was understood.

An answer that is heard as a question is answered as one: *push*, heard as *why*, gets the
reason of the step, however often it is said. No miss is counted there, so the rounds are
counted here, and told once, with what was heard in each. Another way is offered with it, and
again after as many rounds more.
"""

from __future__ import annotations

from handsfree.dialogue import misunderstanding
from handsfree.dialogue.misunderstanding import MOST
from handsfree.dialogue.progress import changes_progress
from handsfree.dialogue.sentences import is_word
from handsfree.dialogue.state import Circle, Heard, Keep, State
from handsfree.dialogue.turn import Turn
from handsfree.journal import events as ev
from handsfree.language.meaning import ReadBack, Word

_SHOWN = 5
_VOICE = ("slower", "faster", "louder", "softer", "speak_less", "speak_more")
_REFUSALS = ("negative", "disregard")


def notice(turn: Turn, before: State, heard: Heard) -> None:
    """Counts the round that this turn was, and tells when it went round too often.

    ``before`` is the state before the turn; ``heard`` is no miss.
    """
    if any(isinstance(reply, Keep) and _gains(reply.body) for reply in turn.replies):
        turn.set(circle=Circle())
        return
    pending = turn.state.pending
    if pending is not None and pending != before.pending:
        _is_asked(turn, before, heard)
    elif not is_word(heard.meaning, *_VOICE) and (
        before.pending is None or before.pending.can_loop
    ):
        dropped = before.pending is not None and pending is None
        _round(turn, heard, dropped=dropped)


def _round(turn: Turn, heard: Heard, *, dropped: bool) -> None:
    """One more round: ``dropped`` where what waited was refused."""
    circle = turn.state.circle
    text = circle.asked if dropped else heard.text
    if text is None:
        return
    rounds = (*circle.rounds, text)
    value = dropped or not isinstance(heard.meaning, Word | ReadBack)
    unfit = circle.unfit + value
    often = unfit if value else rounds.count(text)
    again = often >= MOST
    seen = {"rounds": rounds, "unfit": unfit, "told": circle.told or again}
    turn.set(circle=circle.model_copy(update=seen))
    if again and not circle.told:
        turn.tell("circling", "repair", heard=", ".join(rounds[-_SHOWN:]))
        misunderstanding.way_out(turn)
    elif again and often % MOST == 0:
        misunderstanding.another_way(turn)


def _gains(body: ev.Body) -> bool:
    """Whether something came of the turn: how much is spoken is no answer."""
    return changes_progress(body) and not isinstance(body, ev.SpeechSet)


def _is_asked(turn: Turn, before: State, heard: Heard) -> None:
    """Something new waits for an answer: its words count when it is refused."""
    completed = before.pending is not None and before.pending.completes_reading
    kept = completed or is_word(heard.meaning, *_REFUSALS)
    if not kept:
        turn.set(circle=turn.state.circle.model_copy(update={"asked": heard.text}))
