"""The tool's ears and mouth while a technician is rehearsed: by text, at no speed at all."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime, timedelta

from handsfree.recognition.cycle_listener import Run, no_run
from handsfree.recognition.ears import Utterance
from handsfree.rehearsal.simulated_technician import Technician
from handsfree.rehearsal.technician_memory import Line
from handsfree.synthesis.mouth import Mouth, Spoken
from handsfree.synthesis.tones import ToneKind
from handsfree.synthesis.voice_settings import VoiceChange

WORDS_A_SECOND = 2.5
"""How fast a text would be said, where no voice says it."""


class SimulatedClock:
    """The time of a rehearsal: it goes on by what is said and done, and by nothing else."""

    def __init__(self, begun: datetime | None = None) -> None:
        self._begun = begun or datetime.now(UTC)
        self.now_s = 0.0

    def utc(self) -> datetime:
        """The time of day at the start, plus what has passed."""
        return self._begun + timedelta(seconds=self.now_s)

    def slept_s(self) -> float:
        """A simulated machine does not sleep."""
        return 0.0

    def rising_s(self) -> float:
        """Seconds since the start."""
        return self.now_s

    def pass_by(self, seconds: float) -> None:
        """Time goes on."""
        self.now_s += max(0.0, seconds)


class TypingEars:
    """What the technician says arrives as typed lines."""

    can_time = False
    tells_quiet = False

    def __init__(
        self,
        technician: Technician,
        clock: SimulatedClock,
        watch: Callable[[Line], None] = lambda line: None,
    ) -> None:
        self._technician, self._clock, self._watch = technician, clock, watch

    def listen(self) -> Utterance | None:
        """The next line, after the time that it takes."""
        line = self._technician.speak()
        if line is None:
            return None
        self._watch(line)
        self._clock.pass_by(line.after_s + len(line.text.split()) / WORDS_A_SECOND)
        return Utterance(line.text)

    def time(self, expected: int, least_rms: float) -> Run:
        """Typed lines have no marks."""
        return no_run()


class OverheardMouth:
    """Another mouth, or none, that the technician hears as well."""

    why_silent: str | None = None

    def __init__(
        self, technician: Technician, clock: SimulatedClock, inner: Mouth | None = None
    ) -> None:
        self._technician, self._clock, self._inner = technician, clock, inner
        self.name = f"rehearsal, {inner.name}" if inner is not None else "rehearsal"
        self.spoken_s = 0.0

    def say(self, text: str, *, whole: bool = False) -> Spoken:
        """Says it, and the technician has heard it."""
        spoken = self._inner.say(text, whole=whole) if self._inner is not None else None
        if spoken is None or not spoken.aloud:
            # Nobody speaks; he reads it, and it takes as long.
            spoken = Spoken(len(text.split()) / WORDS_A_SECOND, aloud=False)
        self._technician.hear(text)
        self._clock.pass_by(spoken.seconds)
        self.spoken_s += spoken.seconds
        return spoken

    def signal(self, kind: ToneKind) -> Spoken:
        """A tone tells him nothing that the words do not."""
        return self._inner.signal(kind) if self._inner is not None else Spoken(0.0, aloud=False)

    def adjust(self, change: VoiceChange) -> bool:
        """As the other mouth does."""
        return self._inner.adjust(change) if self._inner is not None else True

    def close(self) -> None:
        """Ends the other mouth."""
        if self._inner is not None:
            self._inner.close()
