"""The time of day and a clock that only rises, behind one small port."""

from __future__ import annotations

import time
from datetime import UTC, datetime
from typing import Protocol


class Clock(Protocol):
    """Where the shell takes its time from."""

    def utc(self) -> datetime:
        """The time of day in UTC."""

    def rising_s(self) -> float:
        """Seconds on a clock that never goes back."""


class SystemClock:
    """The clock of this machine."""

    def utc(self) -> datetime:
        """The time of day in UTC."""
        return datetime.now(UTC)

    def rising_s(self) -> float:
        """Seconds on the monotonic clock."""
        return time.monotonic()


class FakeClock:
    """A clock for tests: every look at it moves it on by ``step_s``."""

    def __init__(self, step_s: float = 0.5) -> None:
        self._step_s = step_s
        self._now_s = 0.0

    def utc(self) -> datetime:
        """A day that nobody will meet, plus the time since the start."""
        return datetime.fromtimestamp(4102444800 + self.rising_s(), UTC)

    def rising_s(self) -> float:
        """Seconds since the start."""
        self._now_s += self._step_s
        return self._now_s
