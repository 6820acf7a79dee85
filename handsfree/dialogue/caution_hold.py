"""Handles the bad case at a caution: the visit holds until it is clear.

'No', 'not clear', 'loose' and the like never pass a caution. They hold the visit where it is, and
the caution is repeated.
"""

from __future__ import annotations

from handsfree.dialogue.turn import Turn
from handsfree.language.meaning import Choice, Meaning, Word


def refuses(meaning: Meaning | None) -> bool:
    """True for an answer that denies the condition: 'not clear', 'no', 'negative', 'loose'."""
    if isinstance(meaning, Word):
        return meaning.kind in ("not_clear", "negative")
    return isinstance(meaning, Choice) and meaning.value == "not_in_order"


def hold(turn: Turn, caution: str) -> None:
    """Says to go no further, and repeats the caution."""
    turn.tell("caution_hold", "caution", caution=caution)
