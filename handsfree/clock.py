"""Time of day and a monotonic clock, behind one small port."""

from __future__ import annotations

import time
from datetime import UTC, datetime
from typing import Protocol


class Clock(Protocol):
    """The source of time for the outer layers."""

    def utc(self) -> datetime:
        """The time of day in UTC."""

    def rising_s(self) -> float:
        """Seconds on a monotonic clock."""

    def slept_s(self) -> float:
        """Seconds that the machine has been asleep so far, which ``rising_s`` does not count."""


def zone_here(at: datetime) -> str:
    """This machine's time zone at a given time: '-05:00 EST', or '-05:00' for a zone without a
    name.
    """
    here = at.astimezone()
    name = here.tzname() or ""
    offset = f"{here:%z}"
    return f"{offset[:3]}:{offset[3:5]} {name}".strip()


class SystemClock:
    """The clock of this machine."""

    def utc(self) -> datetime:
        """The time of day in UTC."""
        return datetime.now(UTC)

    def rising_s(self) -> float:
        """Seconds on the monotonic clock."""
        return time.monotonic()

    def slept_s(self) -> float:
        """Seconds asleep since boot; 0 if the system does not report it."""
        boot = getattr(time, "CLOCK_BOOTTIME", None)
        return 0.0 if boot is None else time.clock_gettime(boot) - time.monotonic()


class FakeClock:
    """A clock for tests: each reading advances it by ``step_s``."""

    def __init__(self, step_s: float = 0.5) -> None:
        self._step_s = step_s
        self._now_s = 0.0
        self.jumped_s = 0.0
        self.asleep_s = 0.0

    def utc(self) -> datetime:
        """The year 2100, plus the time since the start, jumps and sleep."""
        since_s = self.rising_s() + self.jumped_s + self.asleep_s
        return datetime.fromtimestamp(4102444800 + since_s, UTC)

    def slept_s(self) -> float:
        """The time asleep that the test has set."""
        return self.asleep_s

    def rising_s(self) -> float:
        """Seconds since the start."""
        self._now_s += self._step_s
        return self._now_s
