"""The sound devices of this machine by name: numbers change whenever one is plugged in."""

from __future__ import annotations

import ctypes
import faulthandler
import platform
from contextlib import suppress
from functools import cache
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
    """A sound device and its own rate in Hz.

    ``microphone`` and ``loudspeaker`` are channel counts. ``default_for`` lists the kinds for which
    the system uses this device when none is named.
    """

    name: str
    host: str
    rate: int
    microphone: int
    loudspeaker: int
    default_for: tuple[Kind, ...] = ()


def silence_libraries() -> None:
    """Keeps ALSA's and PortAudio's own messages off the terminal; handsfree reports the same.

    ALSA's messages go to a C function that ignores its arguments. A Python callback would swallow
    an exception raised by a signal handler, and the program would miss the signal. PortAudio has no
    such hook: it prints through the C library's ``stderr``, whose output is discarded here. The
    file descriptor stays as it is, so other programs and Python itself print as before.
    """
    with suppress(OSError, AttributeError):
        nothing = ctypes.cast(ctypes.CDLL(None).getppid, ctypes.c_void_p)
        ctypes.CDLL("libasound.so.2").snd_lib_error_set_handler(nothing)
    _lead_c_stderr_nowhere()


@cache
def _lead_c_stderr_nowhere() -> None:
    """Discards what C code in this process prints to ``stderr`` of glibc; works once.

    Another C library may keep ``stderr`` where nothing can be written. A crash of the program
    itself is printed by ``faulthandler``, which writes to the file descriptor.
    """
    if platform.libc_ver()[0] != "glibc":
        return
    with suppress(OSError, ValueError, AttributeError):  # no descriptor, as in a captured test
        faulthandler.enable()
    with suppress(OSError, ValueError, AttributeError):
        libc = ctypes.CDLL(None)
        libc.fopen.restype = ctypes.c_void_p
        nowhere = libc.fopen(b"/dev/null", b"w")
        if nowhere:
            ctypes.c_void_p.in_dll(libc, "stderr").value = nowhere


def devices() -> tuple[Device, ...]:
    """Lists every device that PortAudio knows; empty on a machine without a sound system.

    Raises SoundError while the sound system does not answer.
    """
    try:
        rows, hosts, defaults = SOUND_THREAD.call(_listed)
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


def _listed() -> tuple[list[dict[str, Any]], Any, list[int]]:
    rows = list(sounddevice.query_devices())
    return rows, sounddevice.query_hostapis(), list(sounddevice.default.device)


def find(kind: Kind, name: str | None) -> Device:
    """Finds the device with this name, or the only one whose name contains it.

    Without a name it returns the system default. Raises SoundError naming the devices that exist.
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
    raise SoundError(
        f"several names contain '{name}': {listed}", way_out="give one of them in full"
    )


def rescan() -> int:
    """Searches for devices again and returns the new generation number.

    PortAudio has no hot plug and must be restarted, which ends every open stream. The owner of a
    stream of an older ``generation`` has to reopen it. Raises SoundError while the sound system
    does not answer.
    """
    global _generation
    if SOUND_THREAD.stuck:
        return _generation
    _generation += 1  # also when the restart returns late
    SOUND_THREAD.restart()
    return _generation


def generation() -> int:
    """Number of times the devices have been rescanned since the program started."""
    return _generation


def _default_for(number: int, defaults: list[int]) -> tuple[Kind, ...]:
    kinds: tuple[Kind, ...] = ("microphone", "loudspeaker")
    return tuple(kind for kind, default in zip(kinds, defaults, strict=True) if default == number)
