"""The port of the ears: the interface of a source of utterances, and its records."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal, Protocol

from handsfree.recognition.cycle_run import CycleRun

if TYPE_CHECKING:  # not available on a phone
    import numpy as np
    from numpy.typing import NDArray

    from handsfree.recognition.heard_words import Word


@dataclass(frozen=True)
class MeasuredSound:
    """An utterance's sound (mono, 16 kHz), measured and compressed by its source.

    ``voice_rms`` (0 to 1) and ``snr_db`` are those of ``handsfree.audio.levels``. Its length is
    ``count``, its number of samples.
    """

    flac: bytes
    voice_rms: float
    snr_db: float
    count: int

    def __len__(self) -> int:
        return self.count


@dataclass(frozen=True)
class Utterance:
    """Words said between two silences.

    ``start_s``, ``end_s`` and the times of ``words`` are seconds on the source's audio clock.
    ``samples`` is the sound (mono, 16 kHz); ``measured`` replaces it if the source has no samples.
    A typed line has only its text.
    """

    text: str
    words: tuple[Word, ...] = ()
    start_s: float | None = None
    end_s: float | None = None
    samples: NDArray[np.int16] | None = None
    measured: MeasuredSound | None = None

    @property
    def typed(self) -> bool:
        """True for a typed line, which has no sound."""
        return self.samples is None and self.measured is None


@dataclass(frozen=True)
class QuietPeriod:
    """A silence of this length, not counting the time in which the tool speaks."""

    seconds: float


SourceFaultKind = Literal[
    "microphone_lost", "microphone_back", "microphone_silent", "sound_overflowed"
]


@dataclass(frozen=True)
class SourceFault:
    """A fault of the source, or its end; ``lost_s`` seconds of sound are missing."""

    what: SourceFaultKind
    detail: str = ""
    lost_s: float | None = None


EarEvent = Utterance | QuietPeriod | SourceFault | CycleRun


class Ears(Protocol):
    """A source of utterances.

    ``can_time`` is true if it has a stream of sound for timing. ``reports_silence`` is true if it
    reports silence; otherwise silence follows from the start of the next utterance.
    """

    can_time: bool
    reports_silence: bool

    def listen(self) -> EarEvent | None:
        """Waits for the next utterance; None once the source has ended."""
        ...

    def time(self, expected: int, least_rms: float) -> CycleRun | None:
        """Listens for the marks of one timed cycle; without sound the run is empty.

        Returns None if the ears cannot wait here; the run then comes from ``listen``.
        """
        ...
