"""Decisions about what is not as it should be, before the door is handed over."""

from __future__ import annotations

from handsfree.dialogue.open_faults import not_in_order
from handsfree.dialogue.open_items import OpenItem
from handsfree.dialogue.state import Heard
from handsfree.dialogue.turn import Turn
from handsfree.journal import events as ev
from handsfree.language.meaning import GoTo

HAND_OVER = "hand-over"
"""The stage that gives the door back to people."""


def undecided(turn: Turn) -> list[OpenItem]:
    """The safety items that are open without a decision: what fails, and what is not cured."""
    settled = turn.state.progress.settled
    return [
        item
        for item in not_in_order(turn)
        if item.kind in ("wrong", "uncured") and item.key not in settled
    ]


def decide(turn: Turn, heard: Heard, item: OpenItem, word: str, by: str | None = None) -> Heard:
    """Keeps a decision and says it; returns the words that go to the hand-over.

    An operator that is off and tagged settles everything; any other decision settles what the same
    reading is judged by.
    """
    clip = heard.clip if by is not None else None
    for each in undecided(turn):
        if word == "tagged_out" or each == item or _same_reading(each, item):
            turn.keep(
                ev.OpenSettled.model_validate(
                    {"key": each.key, "word": word, "by": by, "by_clip": clip}
                )
            )
    what = turn.words.say(word)
    if word != "tagged_out":
        what = f"{item.what.rstrip('.')}, {what}"
    turn.tell("hand_over_with", "warning", what=what)
    return to_hand_over(turn, heard)


def _same_reading(one: OpenItem, other: OpenItem) -> bool:
    subjects = {each.key.partition("/")[0] for each in (one, other)}
    return len(subjects) == 1 and one.quantity is other.quantity is not None


def to_hand_over(turn: Turn, heard: Heard) -> Heard:
    """The utterance as if it had been 'go to the hand-over': there the next decision is asked."""
    turn.wait_for(None)
    return heard.model_copy(update={"meaning": GoTo(stage=HAND_OVER)})
