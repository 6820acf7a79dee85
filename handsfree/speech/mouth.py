"""How a reply reaches the technician: a loudspeaker, a sound file, or not at all."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Protocol

import numpy as np
import soundfile

from handsfree.errors import HandsfreeError, SoundError
from handsfree.speech.player import LoudspeakerPlayer, Player
from handsfree.speech.voice import Speech, Voice, VoiceWorker

_GAP_S = 0.3  # between two prompts in the file of the spoken side


@dataclass(frozen=True)
class Spoken:
    """How a text was said: for how long, and whether there was sound at all."""

    seconds: float
    aloud: bool
    speech: Speech | None = None


class Mouth(Protocol):
    """Says one text at a time.

    ``name`` is for the journal. ``why_silent`` says what is missing when nothing is
    said aloud, and is None otherwise.
    """

    name: str
    why_silent: str | None

    def say(self, text: str) -> Spoken:
        """Returns when the text was said to its end."""
        ...

    def close(self) -> None:
        """Ends what the mouth holds."""
        ...


class LoudspeakerMouth:
    """Speaks aloud and waits for the end."""

    name = "loudspeaker"
    why_silent: str | None = None

    def __init__(self, voice: Voice, player: Player) -> None:
        self._voice = voice
        self._player = player

    def say(self, text: str) -> Spoken:
        """Plays the text."""
        speech = self._voice.speak(text)
        self._player.play(speech)
        return Spoken(speech.seconds, True, speech)

    def close(self) -> None:
        """Ends the voice."""
        self._voice.close()


class WavMouth:
    """Appends what it says to one WAV file, which is whole after every text."""

    name = "wav file"
    why_silent: str | None = None

    def __init__(self, voice: Voice, path: Path) -> None:
        self._voice = voice
        self._path = path

    def say(self, text: str) -> Spoken:
        """Writes the text's sound to the end of the file, at once."""
        speech = self._voice.speak(text)
        gap = np.zeros(round(_GAP_S * speech.rate), np.int16)
        try:
            with self._open(speech.rate) as file:
                file.seek(0, soundfile.SEEK_END)
                file.write(np.concatenate((speech.samples, gap)))
        except (soundfile.LibsndfileError, OSError) as error:
            raise SoundError(
                "the spoken side cannot be written", file=self._path, way_out="make room for it"
            ) from error
        return Spoken(speech.seconds, True, speech)

    def close(self) -> None:
        """Ends the voice."""
        self._voice.close()

    def _open(self, rate: int) -> soundfile.SoundFile:
        if self._path.exists():
            return soundfile.SoundFile(self._path, "r+")
        return soundfile.SoundFile(self._path, "w", rate, 1, "PCM_16", format="WAV")


class SilentMouth:
    """Says nothing; whoever uses it prints the text."""

    name = "silent"

    def __init__(self, why: str) -> None:
        self.why_silent: str | None = why

    def say(self, text: str) -> Spoken:
        """Done at once, not aloud."""
        return Spoken(0.0, False)

    def close(self) -> None:
        """Nothing to end."""


def open_mouth(wav: Path | None = None) -> Mouth:
    """The best mouth that this machine has.

    With ``wav`` the prompts go into that file, otherwise to the loudspeaker. Without a
    voice or a loudspeaker a SilentMouth says what is missing.
    """
    voice = VoiceWorker()
    try:
        voice.start()
        if wav is not None:
            return WavMouth(voice, wav)
        player = LoudspeakerPlayer()
        player.check()
    except HandsfreeError as missing:
        voice.close()
        return SilentMouth(str(missing))
    return LoudspeakerMouth(voice, player)
