"""The way to each question in the small procedure, for its test."""

from __future__ import annotations

from handsfree.dialogue import state_machine
from handsfree.dialogue.state import CycleHeard
from handsfree.sample_rate import SAMPLE_RATE_HZ
from handsfree.timing.mark import Mark

from ...talk import Talk

LEFT_OPENING, LEFT_HOLD = "opening-time:left leaf", "hold-open:left leaf"
# Opening 4.2 s, in all 6.1 s, held 6.5 s, closing 4.4 s, latching 2.1 s: every time passes.
CYCLE_S = (1.0, 5.2, 7.1, 13.6, 18.0, 20.1)


def at_the_opening_time(talk: Talk) -> None:
    """Goes to the opening time of the left leaf, with a stream of sound for timing."""
    talk.state = talk.state.model_copy(update={"times_by_ear": True})
    talk.go_to(LEFT_OPENING)


def runs(talk: Talk, *at_s: float, cancelled: bool = False) -> list[str]:
    """Delivers a timed run: its marks (s)."""
    marks = tuple(
        Mark(
            sample=round(at * SAMPLE_RATE_HZ),
            end_sample=round((at + 0.2) * SAMPLE_RATE_HZ),
            snr_db=30.0,
            level_db=-20.0,
            uncertainty_s=0.01,
        )
        for at in at_s
    )
    heard = CycleHeard(marks=marks, clip="000042.flac", cancelled=cancelled)
    return talk._take(state_machine.answer(talk.state, heard, talk.now_s))


def at_the_close_out(talk: Talk) -> None:
    """Ends all steps; the four times were skipped."""
    talk.go_to(LEFT_OPENING)
    for _ in range(4):
        talk.says("skip", "no time")
