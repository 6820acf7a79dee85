"""Sets how much the tool speaks, and the speed and loudness of its voice."""

from __future__ import annotations

from typing import Literal

from handsfree.dialogue.state import Voice
from handsfree.dialogue.turn import Turn
from handsfree.job.closed_lists import SpeechLevel
from handsfree.journal import events as ev

_LEVELS: tuple[SpeechLevel, ...] = ("full", "brief", "silent")


def set_level(turn: Turn, *, less: bool) -> None:
    """Changes the level by one step and says the new level."""
    at = _LEVELS.index(turn.state.progress.level)
    level = _LEVELS[min(at + 1, 2) if less else max(at - 1, 0)]
    if level != turn.state.progress.level:
        turn.keep(ev.SpeechSet(level=level))
    turn.tell(f"level_{level}", "answer")
    turn.ask_again()


def change_voice(turn: Turn, change: Literal["slower", "faster", "louder", "softer"]) -> None:
    """Changes the voice by one step and speaks a sample."""
    turn.replies.append(Voice(change=change))
    turn.tell("voice_changed", "answer")
    turn.ask_again()
