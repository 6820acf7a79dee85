"""The sound devices of this machine, by name: numbers change whenever one is plugged in."""

from __future__ import annotations

import ctypes
from contextlib import suppress
from typing import Any, Literal

import sounddevice

from handsfree.audio.portaudio_thread import SOUND_THREAD
from handsfree.errors import SoundError
from handsfree.job.record import Record
from handsfree.toml_source import nearest

Kind = Literal["microphone", "loudspeaker"]

_CONNECT = "connect a {} or a headset and select it in the system's sound settings"
_generation = 0


class Device(Record):
    """A device. ``rate`` is its own, in Hz; ``microphone`` and ``loudspeaker`` count channels.

    ``default_for`` names what the system takes it for when none is named.
    """

    name: str
    host: str
    rate: int
    microphone: int
    loudspeaker: int
    default_for: tuple[Kind, ...] = ()


def quieten() -> None:
    """Keeps the sound system's own messages off the terminal, where it is ALSA.

    ALSA writes there what PortAudio reports anyway. A function of C takes its messages, one that
    looks at no argument and does nothing: in one of Python's the exception of a signal handler
    would be lost, and the program deaf to the signal.
    """
    with suppress(OSError, AttributeError):
        nothing = ctypes.cast(ctypes.CDLL(None).getppid, ctypes.c_void_p)
        ctypes.CDLL("libasound.so.2").snd_lib_error_set_handler(nothing)


def devices() -> tuple[Device, ...]:
    """Every device that PortAudio knows; empty where there is no sound system at all."""
    try:
        rows: list[dict[str, Any]] = list(sounddevice.query_devices())
        hosts = sounddevice.query_hostapis()
        defaults = list(sounddevice.default.device)
    except sounddevice.PortAudioError:
        return ()
    return tuple(
        Device(
            name=row["name"],
            host=hosts[row["hostapi"]]["name"],
            rate=round(row["default_samplerate"]),
            microphone=row["max_input_channels"],
            loudspeaker=row["max_output_channels"],
            default_for=_default_for(number, defaults),
        )
        for number, row in enumerate(rows)
    )


def find(kind: Kind, name: str | None) -> Device:
    """The device of that name, or one whose name holds it; the system's own for None.

    Raises SoundError that names what there is.
    """
    there = [device for device in devices() if getattr(device, kind) > 0]
    if name is None:
        chosen = [device for device in there if kind in device.default_for] or there[:1]
    else:
        chosen = [d for d in there if d.name == name]
        chosen = chosen or [d for d in there if name.lower() in d.name.lower()]
    if len({device.name for device in chosen}) == 1:
        return chosen[0]
    if not there:
        raise SoundError(f"there is no {kind}", way_out=_CONNECT.format(kind))
    names = tuple(dict.fromkeys(device.name for device in there))
    if not chosen and name is not None:
        raise SoundError(f"there is no {kind} '{name}'", way_out=nearest(name, names))
    listed = ", ".join(f"'{device.name}'" for device in chosen)
    raise SoundError(f"several names hold '{name}': {listed}", way_out="give one of them in full")


def rescan() -> int:
    """Looks for devices anew. PortAudio has no hot plug: it must be begun again for that.

    Every open stream ends with it, so whoever holds one of an older ``generation`` opens it
    anew. Returns the new generation. While a call into PortAudio hangs it cannot be ended; then
    the devices are those of before. Raises SoundError when it does not come back.
    """
    global _generation
    if not SOUND_THREAD.stuck:
        SOUND_THREAD.call(_begin_anew)
        _generation += 1
    return _generation


def _begin_anew() -> None:
    with suppress(sounddevice.PortAudioError):
        sounddevice._terminate()
    with suppress(sounddevice.PortAudioError):  # without a sound system there are no devices
        sounddevice._initialize()


def generation() -> int:
    """How often the devices were looked for anew."""
    return _generation


def _default_for(number: int, defaults: list[int]) -> tuple[Kind, ...]:
    kinds: tuple[Kind, ...] = ("microphone", "loudspeaker")
    return tuple(kind for kind, default in zip(kinds, defaults, strict=True) if default == number)
