"""The ports of a visit on a phone: ears fed by the page, a mouth shown on it, its clock.

The page hears, speaks and draws; Python decides. So nothing here waits: the ears end when nothing
is left to hear, and the mouth's output is collected after each turn.
"""

from __future__ import annotations

import time
from collections import deque
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from handsfree.phone.spoken_pieces import Pieces
from handsfree.recognition.cycle_run import CycleRun
from handsfree.recognition.port import EarEvent
from handsfree.synthesis.port import Spoken

if TYPE_CHECKING:  # not available on a phone
    from handsfree.synthesis.tones import ToneKind
    from handsfree.synthesis.voice_settings import VoiceChange

Shown = str | bool | list[tuple[int, float]]
"""Value in an output for the page: a text, a mark, or the pieces of speech to play."""


class PageClock:
    """The time of the page. It cannot tell sleep from a clock set forward, and counts both as
    sleep.
    """

    def __init__(self) -> None:
        self._begun, self._begun_s = self.utc(), self.rising_s()

    def utc(self) -> datetime:
        """The time of day in UTC."""
        return datetime.now(UTC)

    def rising_s(self) -> float:
        """Seconds on the page's monotonic clock, which may stand still while the phone sleeps."""
        return time.monotonic()

    def slept_s(self) -> float:
        """Seconds by which the time of day is ahead of the monotonic clock since the start."""
        since_s = (self.utc() - self._begun).total_seconds()
        return max(0.0, since_s - (self.rising_s() - self._begun_s))


class FedEars:
    """Ears that hold what the page has heard; ``reports_silence`` is true if it can hear.

    Ears that hear can also time: the page listens for the run and feeds in its result.
    """

    def __init__(self, *, reports_silence: bool) -> None:
        self.reports_silence = self.can_time = reports_silence
        self.asked: tuple[int, float] | None = None
        self._heard: deque[EarEvent] = deque()

    def feed(self, heard: EarEvent) -> None:
        """Takes what the page heard. A timed run precedes the utterances heard during it."""
        if isinstance(heard, CycleRun):
            self.asked = None
            self._heard.appendleft(heard)
        else:
            self._heard.append(heard)

    def listen(self) -> EarEvent | None:
        """Returns the next unanswered input; None if nothing is left, or a run is next."""
        return self._heard.popleft() if self._heard and self.asked is None else None

    def time(self, expected: int, least_rms: float) -> None:
        """Stores the request to the page: the marks to expect, and the level that they must
        reach.
        """
        self.asked = expected, least_rms


class ShownMouth:
    """A mouth whose texts the page takes after each turn.

    ``aloud`` is true if the page has a voice. The page speaks after the turn is stored, so the
    duration is not known here and is 0 s in the journal. ``pieces`` are those that the page plays
    if it has no voice of its own.
    """

    name = "phone"
    why_silent: str | None = None

    def __init__(self, *, aloud: bool) -> None:
        self.aloud = aloud
        self.pieces: Pieces | None = None
        self._out: list[dict[str, Shown]] = []

    def taken(self) -> list[dict[str, Shown]]:
        """Everything since the last call, in order; the caller speaks or shows it."""
        out, self._out = self._out, []
        return out

    def say(self, text: str, *, whole: bool = False) -> Spoken:
        """Hands a text to the page."""
        out: dict[str, Shown] = {"say": text, "whole": whole}
        if self.pieces is not None:
            out["pieces"] = self.pieces.saying(text)
        self._out.append(out)
        return Spoken(0.0, aloud=self.aloud)

    def signal(self, kind: ToneKind) -> Spoken:
        """Hands a tone to the page."""
        self._out.append({"tone": kind})
        return Spoken(0.0, aloud=False)

    def adjust(self, change: VoiceChange) -> bool:
        """Hands a change of the voice to the page."""
        self._out.append({"voice": change})
        return True

    def close(self) -> None:
        """Does nothing: there is nothing to release."""
