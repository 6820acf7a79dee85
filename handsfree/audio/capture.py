"""A microphone as a stream of 16 kHz mono blocks, counted in samples, that survives device loss.

The sound system's callback only copies each block into a queue. PortAudio raises no error when a
device disappears, so a watchdog checks the time since the last block and reopens the device by
name.
"""

from __future__ import annotations

import logging
import time
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from functools import partial
from queue import Empty, SimpleQueue
from typing import Any, Protocol

import numpy as np
import sounddevice
import soxr
from numpy.typing import NDArray

from handsfree.audio import devices
from handsfree.audio.portaudio_thread import SOUND_THREAD
from handsfree.errors import SoundError
from handsfree.sample_rate import SAMPLE_RATE_HZ

Samples = NDArray[np.int16]

_LOG = logging.getLogger(__name__)
LOST_AFTER_S = 1.0
"""Time without a block after which the device counts as lost (s)."""
_AGAIN_EVERY_S = 1.0
_FIRST_WITHIN_S = 4.0  # some sound systems take two seconds to wake up
_BLOCK_S = 0.02


@dataclass(frozen=True)
class Block:
    """A block of captured sound; ``at`` counts 16 kHz samples since the stream began.

    ``overflowed`` means that the system dropped sound before this block.
    """

    at: int
    samples: Samples
    overflowed: bool = False


@dataclass(frozen=True)
class DeviceLost:
    """The device stopped delivering sound; ``why`` says so in plain words."""

    why: str


@dataclass(frozen=True)
class DeviceBack:
    """The device delivers sound again; ``lost_s`` seconds are missing."""

    lost_s: float


class Capture(Protocol):
    """A stream of sound that runs on its own clock."""

    def read(self, wait_s: float) -> Block | DeviceLost | DeviceBack | None:
        """Returns the next item; None if nothing came within ``wait_s`` or the stream ended."""
        ...

    @property
    def ended(self) -> bool:
        """True once the stream will deliver nothing more."""
        ...

    def close(self) -> None:
        """Releases the device."""
        ...


class MicrophoneCapture:
    """Captures from a named device, or the system default, at the device's own rate.

    After ``lost_after_s`` without sound it reports DeviceLost once, then looks for the device every
    second until it can report DeviceBack. The sample clock keeps running meanwhile.
    """

    ended = False

    def __init__(
        self,
        name: str | None = None,
        *,
        lost_after_s: float = LOST_AFTER_S,
        now_s: Callable[[], float] = time.monotonic,
    ) -> None:
        """Raises SoundError if there is no such microphone or it cannot be opened."""
        self._name = name
        self._lost_after_s = lost_after_s
        self._now_s = now_s
        self._raw: SimpleQueue[tuple[Samples, bool]] = SimpleQueue()
        self._at = 0
        self._lost = False
        self._heard_s = self._tried_s = now_s()
        self._stream: Any = None
        devices.silence_libraries()
        self._open()
        self._heard_s = now_s() + _FIRST_WITHIN_S

    @property
    def device(self) -> str:
        """Name of the device in use."""
        return self._device.name

    @property
    def rate(self) -> int:
        """Rate at which the device captures (Hz)."""
        return self._rate

    def read(self, wait_s: float) -> Block | DeviceLost | DeviceBack | None:
        """Returns the next block, or DeviceLost and DeviceBack as the device goes and returns."""
        if self._lost:
            return self._look_again(wait_s)
        try:
            raw, overflowed = self._raw.get(timeout=wait_s)
        except Empty:
            return self._watch()
        self._heard_s = self._now_s()
        samples = self._resampler.resample_chunk(raw)
        if not raw.any():
            # The resampler's dither would hide a microphone that delivers nothing but zeros.
            samples = np.zeros_like(samples)
        block = Block(self._at, samples, overflowed)
        self._at += len(samples)
        return block

    def close(self) -> None:
        """Releases the device."""
        stream, self._stream = self._stream, None
        if stream is not None:
            SOUND_THREAD.close(stream)

    def _watch(self) -> DeviceLost | None:
        stale = self._generation != devices.generation()
        if not stale and self._now_s() - self._heard_s < self._lost_after_s:
            return None
        self._lost = True
        _LOG.info("microphone '%s' lost", self._device.name)
        self.close()
        return DeviceLost(f"the microphone '{self._device.name}' has stopped delivering sound")

    def _look_again(self, wait_s: float) -> DeviceBack | None:
        """Looks for the device once a second.

        A listed device may still be silent, so it counts as back with its first block.
        """
        if self._stream is not None:
            try:
                first = self._raw.get(timeout=wait_s)
            except Empty:
                if self._now_s() > self._tried_s + _FIRST_WITHIN_S:
                    self.close()
                return None
            lost_s = self._now_s() - self._heard_s
            self._raw.put(first)
            self._at += round(lost_s * SAMPLE_RATE_HZ)
            self._heard_s, self._lost = self._now_s(), False
            return DeviceBack(lost_s)
        if self._now_s() - self._tried_s < _AGAIN_EVERY_S:
            time.sleep(min(wait_s, 0.1))
        elif wait_s:  # never block when the caller does not want to wait
            self._tried_s = self._now_s()
            self._raw = SimpleQueue()
            with suppress(SoundError):
                devices.rescan()
                self._open()
        return None

    def _open(self) -> None:
        self._device = devices.find("microphone", self._name)
        self._rate = self._device.rate
        self._generation = devices.generation()
        raw = self._raw

        def keep(block: Samples, frames: int, at: Any, status: Any) -> None:
            raw.put((block[:, 0].copy(), bool(status.input_overflow)))

        self._resampler = soxr.ResampleStream(self._rate, SAMPLE_RATE_HZ, 1, dtype="int16")
        stream = fault = None
        for channels in dict.fromkeys((1, min(2, self._device.microphone))):
            try:
                stream = SOUND_THREAD.open(partial(self._new_stream, channels, keep))
                break
            except (sounddevice.PortAudioError, ValueError) as error:
                fault = error
        if stream is None:
            raise SoundError(
                f"the microphone '{self._device.name}' cannot be opened: "
                f"{str(fault).splitlines()[0]}",
                way_out="close other programs that use it, or name another with --microphone",
            ) from fault
        self._stream = stream
        _LOG.info("microphone '%s' opened at %d Hz", self._device.name, self._rate)

    def _new_stream(self, channels: int, keep: Callable[..., None]) -> Any:
        return sounddevice.InputStream(
            samplerate=self._rate,
            blocksize=round(_BLOCK_S * self._rate),
            device=self._device.name,
            channels=channels,
            dtype="int16",
            callback=keep,
        )


class FakeCapture:
    """A fake microphone: delivers prepared sound at once, in the blocks a real one would send.

    For tests and measurements: ``parts`` arrive in order, samples in blocks of 20 ms.
    """

    def __init__(self, *parts: Samples | DeviceLost | DeviceBack) -> None:
        block = round(_BLOCK_S * SAMPLE_RATE_HZ)
        self._parts: list[Block | DeviceLost | DeviceBack] = []
        at = 0
        for part in parts:
            if isinstance(part, DeviceLost):
                self._parts.append(part)
            elif isinstance(part, DeviceBack):
                self._parts.append(part)
                at += round(part.lost_s * SAMPLE_RATE_HZ)
            else:
                for start in range(0, len(part), block):
                    samples = part[start : start + block]
                    self._parts.append(Block(at, samples))
                    at += len(samples)
        self._parts.reverse()

    @property
    def ended(self) -> bool:
        """True once every part was read."""
        return not self._parts

    def read(self, wait_s: float) -> Block | DeviceLost | DeviceBack | None:
        """Returns the next part without waiting."""
        return self._parts.pop() if self._parts else None

    def close(self) -> None:
        """Does nothing: there is no device to release."""
