"""The port of the mouth: the interface for speaking replies, and for interrupting them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol, runtime_checkable

if TYPE_CHECKING:  # not available on a phone
    from handsfree.audio.playback import Speech
    from handsfree.synthesis.tones import ToneKind
    from handsfree.synthesis.voice_settings import VoiceChange


@dataclass(frozen=True)
class Spoken:
    """Result of speaking a text or playing a tone: its duration and whether it was audible.

    ``cut`` means that somebody spoke and interrupted it.
    """

    seconds: float
    aloud: bool
    speech: Speech | None = None
    cut: bool = False


@runtime_checkable
class PlaybackListener(Protocol):
    """A listener that runs while the mouth speaks."""

    def mouth_begins(self) -> None:
        """Announces that playback is about to begin."""
        ...

    def interrupts(self) -> bool:
        """True if playback should stop now; called every 20 ms while the mouth speaks."""
        ...

    def mouth_ended(self) -> None:
        """Announces that the last sample was played."""
        ...


class Mouth(Protocol):
    """Speaks one text or plays one tone at a time.

    ``name`` is for the journal. ``why_silent`` says what is missing if nothing can be heard,
    otherwise None.
    """

    name: str
    why_silent: str | None

    def say(self, text: str, *, whole: bool = False) -> Spoken:
        """Speaks a text and returns once it has ended or was interrupted.

        ``whole`` means that it cannot be interrupted.
        """
        ...

    def signal(self, kind: ToneKind) -> Spoken:
        """Plays a tone and returns once it ended."""
        ...

    def adjust(self, change: VoiceChange) -> bool:
        """Makes the voice one step slower, faster, louder or softer from now on.

        Returns False if the voice has already reached that limit.
        """
        ...

    def close(self) -> None:
        """Releases voice and device."""
        ...
