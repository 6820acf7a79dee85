"""Plays sound on a loudspeaker and returns when it has really ended."""

from __future__ import annotations

import threading
from typing import Any, Protocol

import numpy as np
import sounddevice
from numpy.typing import NDArray

from handsfree.errors import SoundError
from handsfree.speech.voice import Speech

_WAY_OUT = "connect a loudspeaker or a headset and select it in the system's sound settings"
# Measured with ALSA over PulseAudio: up to 60 ms are lost while a stream starts, and the
# last 30 ms, one buffer, when it ends. Silence on both sides is lost instead.
_EDGE_S = 0.1
_GRACE_S = 5.0  # a device may take this much longer than the sound before it counts as lost


class Player(Protocol):
    """A loudspeaker."""

    def play(self, speech: Speech) -> None:
        """Returns when the last sample was played. Raises SoundError when it was not."""
        ...


class LoudspeakerPlayer:
    """Plays through PortAudio, on the system's output or the device of that name."""

    def __init__(self, device: str | None = None) -> None:
        self.device = device

    def check(self) -> None:
        """Raises SoundError when there is no such output."""
        try:
            sounddevice.check_output_settings(device=self.device, channels=1, dtype="int16")
        except (sounddevice.PortAudioError, ValueError) as error:
            raise _no_output(error) from error

    def play(self, speech: Speech) -> None:
        """Plays the sound to its end; PortAudio itself says when that is."""
        ended = threading.Event()
        edge = np.zeros(round(_EDGE_S * speech.rate), np.int16)
        sound = np.concatenate((edge, speech.samples, edge))
        position = 0

        def fill(out: NDArray[np.int16], frames: int, time: Any, status: Any) -> None:
            nonlocal position
            part = sound[position : position + frames]
            out[: len(part), 0] = part
            out[len(part) :] = 0
            position += frames
            if position >= len(sound):
                raise sounddevice.CallbackStop

        try:
            with sounddevice.OutputStream(
                samplerate=speech.rate,
                device=self.device,
                channels=1,
                dtype="int16",
                callback=fill,
                finished_callback=ended.set,
            ):
                if not ended.wait(speech.seconds + _GRACE_S):
                    raise SoundError("the loudspeaker has stopped taking sound", way_out=_WAY_OUT)
        except (sounddevice.PortAudioError, ValueError) as error:
            raise _no_output(error) from error


class FakePlayer:
    """Keeps what it was given to play."""

    def __init__(self) -> None:
        self.played: list[Speech] = []

    def play(self, speech: Speech) -> None:
        """Done at once."""
        self.played.append(speech)


def _no_output(error: Exception) -> SoundError:
    reason = str(error).splitlines()[0]
    return SoundError(f"no sound can be played: {reason}", way_out=_WAY_OUT)
