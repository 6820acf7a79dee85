"""Outputs for the tool's replies: a loudspeaker, a sound file, or none."""

from __future__ import annotations

import logging
from abc import ABC, abstractmethod
from collections.abc import Sequence
from pathlib import Path

import numpy as np
import soundfile
import soxr

from handsfree.audio.gain import amplified
from handsfree.audio.playback import LoudspeakerPlayer, Player, Speech, never_interrupted
from handsfree.errors import HandsfreeError, SoundError
from handsfree.settings import USUAL_VOLUME, USUAL_WPM
from handsfree.synthesis.port import Mouth, PlaybackListener, Spoken
from handsfree.synthesis.tones import ToneKind, tone
from handsfree.synthesis.voice import Voice, VoiceWorker
from handsfree.synthesis.voice_settings import VoiceChange, VoiceSettings

_LOG = logging.getLogger(__name__)
_GAP_S = 0.3  # between two prompts in the sound file
_TONE_RATE = 22_050


class _Sounding(ABC):
    """A mouth with a voice: the base class makes the sound, a subclass plays it."""

    why_silent: str | None = None

    def __init__(self, voice: Voice, voice_rate: int, volume: int) -> None:
        self._voice = voice
        self._manner = VoiceSettings(rate_wpm=voice_rate, volume=volume)

    def say(self, text: str, *, whole: bool = False) -> Spoken:
        """Makes the sound of a text, or takes it from the cache, and plays it."""
        return self._sound(self._voice.speak(text, self._manner.rate_wpm), whole=whole)

    def signal(self, kind: ToneKind) -> Spoken:
        """Plays the tone at the level of the voice."""
        return self._sound(Speech(tone(kind, _TONE_RATE), _TONE_RATE), whole=True)

    def adjust(self, change: VoiceChange) -> bool:
        """Changes rate or volume by one step for everything that follows."""
        before, self._manner = self._manner, self._manner.changed(change)
        return self._manner != before

    def close(self) -> None:
        """Ends the voice."""
        self._voice.close()

    def _sound(self, made: Speech, *, whole: bool) -> Spoken:
        samples = amplified(made.samples, made.rate, self._manner.gain_db)
        speech = Speech(samples, made.rate)
        seconds = self._play(speech, whole=whole)
        return Spoken(seconds, True, speech, cut=seconds < speech.seconds)

    @abstractmethod
    def _play(self, speech: Speech, *, whole: bool) -> float:
        """Plays the sound and returns the seconds played."""


class LoudspeakerMouth(_Sounding):
    """Speaks aloud and waits for the end; ``listener`` may interrupt."""

    name = "loudspeaker"

    def __init__(
        self,
        voice: Voice,
        player: Player,
        *,
        voice_rate: int = USUAL_WPM,
        volume: int = USUAL_VOLUME,
        listener: PlaybackListener | None = None,
    ) -> None:
        super().__init__(voice, voice_rate, volume)
        self._player = player
        self._listener = listener

    def close(self) -> None:
        """Ends the voice and releases the loudspeaker."""
        super().close()
        self._player.close()

    def _play(self, speech: Speech, *, whole: bool) -> float:
        listener = self._listener
        if listener is None:
            return self._player.play(speech)
        listener.mouth_begins()
        try:
            return self._player.play(speech, never_interrupted if whole else listener.interrupts)
        finally:
            listener.mouth_ended()


class WavMouth(_Sounding):
    """Appends its output to one WAV file, which is complete after every text and tone."""

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

    def _play(self, speech: Speech, *, whole: bool) -> float:
        try:
            with self._open(speech.rate) as file:
                samples = speech.samples
                if speech.rate != file.samplerate:  # the first sound sets the rate
                    samples = soxr.resample(samples, speech.rate, file.samplerate)
                gap = np.zeros(round(_GAP_S * file.samplerate), np.int16)
                file.seek(0, soundfile.SEEK_END)
                file.write(np.concatenate((samples, gap)))
        except (soundfile.LibsndfileError, OSError) as error:
            raise SoundError(
                "the sound file of the prompts cannot be written",
                file=self._path,
                way_out="free some disk space",
            ) from error
        return speech.seconds

    def _open(self, rate: int) -> soundfile.SoundFile:
        if self._path.exists():
            return soundfile.SoundFile(self._path, "r+")
        return soundfile.SoundFile(self._path, "w", rate, 1, "PCM_16", format="WAV")


class SilentMouth:
    """Plays nothing; the caller prints the text."""

    name = "silent"

    def __init__(self, why: str) -> None:
        self.why_silent: str | None = why

    def say(self, text: str, *, whole: bool = False) -> Spoken:
        """Returns at once, without sound."""
        return Spoken(0.0, False)

    def signal(self, kind: ToneKind) -> Spoken:
        """Returns at once, without sound."""
        return Spoken(0.0, False)

    def adjust(self, change: VoiceChange) -> bool:
        """Returns True: there is no voice and so no limit."""
        return True

    def close(self) -> None:
        """Does nothing: there is no voice."""


def open_mouth(
    wav: Path | None = None,
    *,
    voice_rate: int = USUAL_WPM,
    volume: int = USUAL_VOLUME,
    languages: Sequence[str] = (),
    loudspeaker: str | None = None,
    listener: PlaybackListener | None = None,
    patient: bool = False,
) -> Mouth:
    """Opens the best mouth that this machine can offer.

    With ``wav`` the prompts go to that file, otherwise to the named loudspeaker or the system's
    output, where ``listener`` may interrupt them. Without a voice or a loudspeaker the result is a
    SilentMouth that says what is missing; ``patient`` instead tries the loudspeaker again for every
    text. ``voice_rate`` is in words per minute and ``volume`` from 0 to 100, as in the settings.
    The voice is the first one for any of ``languages``.
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
