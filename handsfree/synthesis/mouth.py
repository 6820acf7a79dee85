"""How a reply reaches the technician: a loudspeaker, a sound file, or not at all."""

from __future__ import annotations

import logging
from abc import ABC, abstractmethod
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Protocol, runtime_checkable

import numpy as np
import soundfile
import soxr

from handsfree.audio.gain import amplified
from handsfree.audio.playback import LoudspeakerPlayer, Player, Speech, never
from handsfree.errors import HandsfreeError, SoundError
from handsfree.settings import USUAL_VOLUME, USUAL_WPM
from handsfree.synthesis.tones import ToneKind, tone
from handsfree.synthesis.voice import Voice, VoiceWorker
from handsfree.synthesis.voice_settings import Manner, VoiceChange

_LOG = logging.getLogger(__name__)
_GAP_S = 0.3  # between two prompts in the file of the spoken side
_TONE_RATE = 22_050


@dataclass(frozen=True)
class Spoken:
    """How a text or a tone was given: for how long, and whether there was sound at all.

    ``cut`` when somebody spoke into it, and it stopped.
    """

    seconds: float
    aloud: bool
    speech: Speech | None = None
    cut: bool = False


@runtime_checkable
class Listener(Protocol):
    """What listens while the mouth speaks."""

    def mouth_begins(self) -> None:
        """The mouth is about to be heard."""
        ...

    def interrupts(self) -> bool:
        """Whether the mouth is to stop now; asked every 20 ms while it speaks."""
        ...

    def mouth_ended(self) -> None:
        """The last of it was played."""
        ...


class Mouth(Protocol):
    """Says one text at a time, or gives a tone.

    ``name`` is for the journal. ``why_silent`` says what is missing when nothing is
    said aloud, and is None otherwise.
    """

    name: str
    why_silent: str | None

    def say(self, text: str, *, whole: bool = False) -> Spoken:
        """Returns when the text was said to its end, or cut short by whoever spoke into it.

        ``whole``: it is said to its end whatever is heard.
        """
        ...

    def signal(self, kind: ToneKind) -> Spoken:
        """Returns when the tone has ended."""
        ...

    def adjust(self, change: VoiceChange) -> bool:
        """Speaks a step slower, faster, louder or softer from now on.

        False when it cannot: the voice is at that bound already.
        """
        ...

    def close(self) -> None:
        """Ends what the mouth holds."""
        ...


class _Sounding(ABC):
    """A mouth with a voice: it makes the sound, and a subclass brings it out."""

    why_silent: str | None = None

    def __init__(self, voice: Voice, voice_rate: int, volume: int) -> None:
        self._voice = voice
        self._manner = Manner(rate_wpm=voice_rate, volume=volume)

    def say(self, text: str, *, whole: bool = False) -> Spoken:
        """Makes the text's sound, or takes it from before, and brings it out."""
        return self._sound(self._voice.speak(text, self._manner.rate_wpm), whole=whole)

    def signal(self, kind: ToneKind) -> Spoken:
        """Brings the tone out as loud as the voice."""
        return self._sound(Speech(tone(kind, _TONE_RATE), _TONE_RATE), whole=True)

    def adjust(self, change: VoiceChange) -> bool:
        """A step of rate or volume, for all that comes."""
        before, self._manner = self._manner, self._manner.changed(change)
        return self._manner != before

    def close(self) -> None:
        """Ends the voice."""
        self._voice.close()

    def _sound(self, made: Speech, *, whole: bool) -> Spoken:
        samples = amplified(made.samples, made.rate, self._manner.gain_db)
        speech = Speech(samples, made.rate)
        seconds = self._bring_out(speech, whole=whole)
        return Spoken(seconds, True, speech, cut=seconds < speech.seconds)

    @abstractmethod
    def _bring_out(self, speech: Speech, *, whole: bool) -> float:
        """How many seconds of it came out."""


class LoudspeakerMouth(_Sounding):
    """Speaks aloud and waits for the end; ``listener`` may cut it short."""

    name = "loudspeaker"

    def __init__(
        self,
        voice: Voice,
        player: Player,
        *,
        voice_rate: int = USUAL_WPM,
        volume: int = USUAL_VOLUME,
        listener: Listener | None = None,
    ) -> None:
        super().__init__(voice, voice_rate, volume)
        self._player = player
        self._listener = listener

    def close(self) -> None:
        """Ends the voice and lets go of the loudspeaker."""
        super().close()
        self._player.close()

    def _bring_out(self, speech: Speech, *, whole: bool) -> float:
        listener = self._listener
        if listener is None:
            return self._player.play(speech)
        listener.mouth_begins()
        try:
            return self._player.play(speech, never if whole else listener.interrupts)
        finally:
            listener.mouth_ended()


class WavMouth(_Sounding):
    """Appends what it says to one WAV file, which is whole after every text and tone."""

    name = "wav file"

    def __init__(
        self,
        voice: Voice,
        path: Path,
        *,
        voice_rate: int = USUAL_WPM,
        volume: int = USUAL_VOLUME,
    ) -> None:
        super().__init__(voice, voice_rate, volume)
        self._path = path

    def _bring_out(self, speech: Speech, *, whole: bool) -> float:
        try:
            with self._open(speech.rate) as file:
                samples = speech.samples
                if speech.rate != file.samplerate:  # whatever came first chose it
                    samples = soxr.resample(samples, speech.rate, file.samplerate)
                gap = np.zeros(round(_GAP_S * file.samplerate), np.int16)
                file.seek(0, soundfile.SEEK_END)
                file.write(np.concatenate((samples, gap)))
        except (soundfile.LibsndfileError, OSError) as error:
            raise SoundError(
                "the spoken side cannot be written", file=self._path, way_out="make room for it"
            ) from error
        return speech.seconds

    def _open(self, rate: int) -> soundfile.SoundFile:
        if self._path.exists():
            return soundfile.SoundFile(self._path, "r+")
        return soundfile.SoundFile(self._path, "w", rate, 1, "PCM_16", format="WAV")


class SilentMouth:
    """Says nothing; whoever uses it prints the text."""

    name = "silent"

    def __init__(self, why: str) -> None:
        self.why_silent: str | None = why

    def say(self, text: str, *, whole: bool = False) -> Spoken:
        """Done at once, not aloud."""
        return Spoken(0.0, False)

    def signal(self, kind: ToneKind) -> Spoken:
        """Done at once, not aloud."""
        return Spoken(0.0, False)

    def adjust(self, change: VoiceChange) -> bool:
        """Nothing to change, and no bound to meet."""
        return True

    def close(self) -> None:
        """Nothing to end."""


def open_mouth(
    wav: Path | None = None,
    *,
    voice_rate: int = USUAL_WPM,
    volume: int = USUAL_VOLUME,
    languages: Sequence[str] = (),
    loudspeaker: str | None = None,
    listener: Listener | None = None,
    patient: bool = False,
) -> Mouth:
    """The best mouth that this machine has.

    With ``wav`` the prompts go into that file, otherwise to the loudspeaker of that name (the
    system's own for None), where ``listener`` may cut them short. Without a
    voice or a loudspeaker a SilentMouth says what is missing; a ``patient`` one tries the
    loudspeaker again at every text. It starts at a rate in words
    a minute and a volume from 0 to 100, as the settings have them, in the first of
    ``languages`` that has a voice.
    """
    voice = VoiceWorker(languages=languages)
    try:
        voice.start(voice_rate)
    except HandsfreeError as missing:
        voice.close()
        _LOG.info("no speaking voice: %s", missing)
        return SilentMouth(str(missing))
    _LOG.info("speaking voice started")
    if wav is not None:
        return WavMouth(voice, wav, voice_rate=voice_rate, volume=volume)
    player = LoudspeakerPlayer(loudspeaker)
    mouth = LoudspeakerMouth(voice, player, voice_rate=voice_rate, volume=volume, listener=listener)
    try:
        player.check()
    except HandsfreeError as missing:
        if not patient:
            voice.close()
            return SilentMouth(str(missing))
        mouth.why_silent = str(missing)
    return mouth
