"""The tool's ears, mouth and clock in a rehearsal by text, which takes no real time."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime, timedelta

from handsfree.recognition.cycle_listener import CycleRun, empty_run
from handsfree.recognition.port import Utterance
from handsfree.rehearsal.simulated_technician import Technician
from handsfree.rehearsal.technician_memory import SpokenLine
from handsfree.synthesis.port import Mouth, Spoken
from handsfree.synthesis.tones import ToneKind
from handsfree.synthesis.voice_settings import VoiceChange

WORDS_A_SECOND = 2.5
"""Assumed speaking rate of a text without a voice (words per second)."""


class SimulatedClock:
    """The time of a rehearsal, which advances only by what is said and done."""

    def __init__(self, begun: datetime | None = None) -> None:
        self._begun = begun or datetime.now(UTC)
        self.now_s = 0.0

    def utc(self) -> datetime:
        """The time of day at the start plus the elapsed time."""
        return self._begun + timedelta(seconds=self.now_s)

    def slept_s(self) -> float:
        """Returns 0: a simulated machine does not sleep."""
        return 0.0

    def rising_s(self) -> float:
        """Seconds since the start."""
        return self.now_s

    def pass_by(self, seconds: float) -> None:
        """Advances the time."""
        self.now_s += max(0.0, seconds)


class TypingEars:
    """Delivers the technician's words as typed lines."""

    can_time = False
    reports_silence = False

    def __init__(
        self,
        technician: Technician,
        clock: SimulatedClock,
        watch: Callable[[SpokenLine], None] = lambda line: None,
    ) -> None:
        self._technician, self._clock, self._watch = technician, clock, watch

    def listen(self) -> Utterance | None:
        """Returns the next line after the time that it takes."""
        line = self._technician.speak()
        if line is None:
            return None
        self._watch(line)
        self._clock.pass_by(line.after_s + len(line.text.split()) / WORDS_A_SECOND)
        return Utterance(line.text)

    def time(self, expected: int, least_rms: float) -> CycleRun:
        """Returns an empty run: typed lines have no marks."""
        return empty_run()


class OverheardMouth:
    """Wraps another mouth, or none, and lets the technician hear it."""

    why_silent: str | None = None

    def __init__(
        self, technician: Technician, clock: SimulatedClock, inner: Mouth | None = None
    ) -> None:
        self._technician, self._clock, self._inner = technician, clock, inner
        self.name = f"rehearsal, {inner.name}" if inner is not None else "rehearsal"
        self.spoken_s = 0.0

    def say(self, text: str, *, whole: bool = False) -> Spoken:
        """Speaks a text and lets the technician hear it."""
        spoken = self._inner.say(text, whole=whole) if self._inner is not None else None
        if spoken is None or not spoken.aloud:
            # Nobody speaks, but the technician takes the same time to read the text.
            spoken = Spoken(len(text.split()) / WORDS_A_SECOND, aloud=False)
        self._technician.hear(text)
        self._clock.pass_by(spoken.seconds)
        self.spoken_s += spoken.seconds
        return spoken

    def signal(self, kind: ToneKind) -> Spoken:
        """Plays a tone, which tells the technician nothing beyond the words."""
        return self._inner.signal(kind) if self._inner is not None else Spoken(0.0, aloud=False)

    def adjust(self, change: VoiceChange) -> bool:
        """Adjusts the wrapped mouth."""
        return self._inner.adjust(change) if self._inner is not None else True

    def close(self) -> None:
        """Closes the wrapped mouth."""
        if self._inner is not None:
            self._inner.close()
