"""Detects jumps of the time of day and sleep of the machine, for the journal."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from handsfree.clock import Clock
from handsfree.journal.events import Event, Fault, TailRecovered

JUMP_S = 2.0
"""Smallest difference that counts as a jump instead of drift (s)."""


def last_entry_at(events: Sequence[Event]) -> str:
    """The time of the last entry of an earlier run.

    A torn line that was set aside is entered as the journal is opened, by the clock of now.
    """
    entered = (event.at for event in reversed(events) if not isinstance(event.body, TailRecovered))
    return next(entered, "")


def clock_set_back(last: str, now: datetime) -> tuple[Fault, ...]:
    """Reports a clock that is earlier than the last event of a resumed visit."""
    try:
        back_s = (datetime.fromisoformat(last) - now).total_seconds()
    except (ValueError, TypeError):  # a foreign journal
        return ()
    if back_s < JUMP_S:
        return ()
    detail = f"the time of day is {back_s:.0f} s before the last entry of this visit"
    return (Fault(what="clock_jumped", detail=detail),)


class ClockMonitor:
    """Compares the time of day with a monotonic clock from one call to the next."""

    def __init__(self, clock: Clock) -> None:
        self._clock = clock
        self._utc, self._rising_s, self._slept_s = clock.utc(), clock.rising_s(), clock.slept_s()

    def look(self) -> tuple[Fault, ...]:
        """Reports changes of the time since the last call."""
        utc, rising_s, slept_s = self._clock.utc(), self._clock.rising_s(), self._clock.slept_s()
        away_s = slept_s - self._slept_s
        jump_s = (utc - self._utc).total_seconds() - (rising_s - self._rising_s) - away_s
        self._utc, self._rising_s, self._slept_s = utc, rising_s, slept_s
        faults = []
        if away_s >= JUMP_S:
            faults.append(Fault(what="machine_slept", detail=f"for {away_s:.0f} s"))
        if abs(jump_s) >= JUMP_S:
            ways = "forward" if jump_s > 0 else "back"
            detail = f"the time of day was set {ways} by {abs(jump_s):.0f} s"
            faults.append(Fault(what="clock_jumped", detail=detail))
        return tuple(faults)
