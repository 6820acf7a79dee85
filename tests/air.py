"""A virtual room: PulseAudio sinks as microphone and loudspeaker, and a simulated person.

Used by tests of the live visit and by the recording of one (audio_fixtures/by_air.py).
"""

from __future__ import annotations

import fcntl
import os
import shutil
import struct
import subprocess
import tempfile
import termios
import threading
import time
from collections.abc import Iterable
from contextlib import suppress
from pathlib import Path
from typing import NamedTuple

import numpy as np
import pytest
import scipy
import soxr
from numpy.typing import NDArray

from handsfree.synthesis.voice import VoiceWorker

RATE = 16_000
_CHUNK_S = 0.02
_LEAD_S = 0.03
_NOISE_RMS = 12.0
_LIKE = 0.62  # other texts in the same voice reach 0.53, the right one with gaps 0.7
_PIECE = RATE // 4

Samples = NDArray[np.int16]


def missing() -> str | None:
    """Names the programs that a room needs and this machine lacks."""
    for program in ("pulseaudio", "pacat", "parec", "pactl"):
        if shutil.which(program) is None:
            return f"{program} is missing: apt install pulseaudio libasound2-plugins"
    return None


class Room:
    """A separate sound server: the program hears 'mic' and speaks on 'speaker'.

    ``say`` speaks into the microphone over soft noise. Everything from the loudspeaker is recorded
    on the same clock. Use it as a context manager.
    """

    def __init__(self, noise_rms: float = _NOISE_RMS) -> None:
        self._noise_rms = noise_rms
        self._folder = tempfile.TemporaryDirectory(prefix="air-")
        Path(self._folder.name).chmod(0o700)
        self.environment = {
            **os.environ,
            "XDG_RUNTIME_DIR": self._folder.name,
        }
        self._processes: list[subprocess.Popen[bytes]] = []
        self._waiting: list[Samples] = []
        self._lock = threading.Lock()
        self._out = bytearray()
        self._in: list[Samples] = []
        self._over = threading.Event()
        self._threads: list[threading.Thread] = []

    def __enter__(self) -> Room:
        server = subprocess.Popen(
            [
                "pulseaudio", "-n", "--daemonize=no", "--exit-idle-time=-1",
                "-L", "module-native-protocol-unix",
                "-L", f"module-null-sink sink_name=mic rate={RATE} channels=1",
                "-L", f"module-null-sink sink_name=speaker rate={RATE} channels=1",
            ],
            env=self.environment,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )  # fmt: skip
        self._processes.append(server)
        for _ in range(100):
            if self.pactl("info", check=False) is not None:
                break
            time.sleep(0.1)
        self.pactl(
            "load-module", "module-remap-source", "master=mic.monitor", "source_name=the_mic"
        )
        self.pactl("set-default-source", "the_mic")
        self.pactl("set-default-sink", "speaker")
        self._start(self._breathe, self._run("pacat", "mic", stdin=subprocess.PIPE))
        self._start(self._keep, self._run("parec", "speaker.monitor", stdout=subprocess.PIPE))
        return self

    def __exit__(self, *error: object) -> None:
        self._over.set()
        for process in reversed(self._processes):
            process.terminate()
            process.wait()
        for thread in self._threads:
            thread.join()
        for process in self._processes:
            for pipe in (process.stdin, process.stdout):
                if pipe is not None:
                    with suppress(OSError):
                        pipe.close()
        self._folder.cleanup()

    # --- the microphone

    def plug_in(self) -> None:
        """Makes the microphone deliver sound again."""
        self.pactl("suspend-source", "the_mic", "0")

    def unplug(self) -> None:
        """Makes the microphone stop delivering sound.

        Its stream is suspended: unloading its module would make the server move the listener to the
        loudspeaker's monitor, as a desktop does to the next microphone.
        """
        self.pactl("suspend-source", "the_mic", "1")

    def say(self, samples: Samples) -> float:
        """Speaks; returns at once, with the (monotonic) time of the end of the sound."""
        with self._lock:
            self._waiting.append(samples)
            ahead = sum(len(each) for each in self._waiting)
        return time.monotonic() + _LEAD_S + ahead / RATE

    # --- the loudspeaker

    @property
    def heard(self) -> Samples:
        """Returns everything that came out of the loudspeaker so far, at 16 kHz."""
        with self._lock:
            return np.frombuffer(bytes(self._out[: len(self._out) // 2 * 2]), np.int16)

    @property
    def spoken(self) -> Samples:
        """Returns everything that went into the microphone so far, at 16 kHz."""
        with self._lock:
            return np.concatenate(self._in) if self._in else np.zeros(0, np.int16)

    def quiet(self, seconds: float, within_s: float = 30.0) -> bool:
        """Waits until the loudspeaker has been silent for ``seconds`` after sound; returns True if
        it was.
        """
        until_s = time.monotonic() + within_s
        while time.monotonic() < until_s:
            tail = self.heard[-round(seconds * RATE) :]
            if len(tail) >= round(seconds * RATE) and not np.any(np.abs(tail) > 40):
                return True
            time.sleep(0.03)
        return False

    def sounded(self, since: int, within_s: float = 10.0) -> bool:
        """Waits for sound after sample ``since``; returns True if it came."""
        until_s = time.monotonic() + within_s
        while time.monotonic() < until_s:
            if np.any(np.abs(self.heard[since:]) > 200):
                return True
            time.sleep(0.01)
        return False

    # --- internals

    def pactl(self, *words: str, check: bool = True) -> str | None:
        """Sends a command to the server; None if it does not answer."""
        done = subprocess.run(
            ["pactl", *words], env=self.environment, capture_output=True, text=True, timeout=20
        )
        if done.returncode:
            assert not check, done.stderr
            return None
        return done.stdout

    def _run(self, program: str, device: str, **pipes: int) -> subprocess.Popen[bytes]:
        process = subprocess.Popen(
            [
                program, f"--device={device}", f"--rate={RATE}", "--channels=1",
                "--format=s16le", "--latency-msec=20", "--raw",
            ],
            env=self.environment,
            stderr=subprocess.DEVNULL,
            **pipes,
        )  # fmt: skip
        self._processes.append(process)
        return process

    def _start(self, work, process: subprocess.Popen[bytes]) -> None:
        thread = threading.Thread(target=work, args=(process,), daemon=True)
        thread.start()
        self._threads.append(thread)

    def _breathe(self, process: subprocess.Popen[bytes]) -> None:
        """Writes noise and speech to the pipe in real time, slightly ahead."""
        assert process.stdin is not None
        rng = np.random.default_rng(1)
        size = round(_CHUNK_S * RATE)
        while not self._over.is_set():
            # Anything the server has not taken yet would stay late, so the pipe is kept short.
            if _unread(process.stdin.fileno()) >= 2 * _LEAD_S * RATE:
                time.sleep(_CHUNK_S / 4)
                continue
            chunk = rng.normal(0, self._noise_rms, size)
            with self._lock:
                if self._waiting:
                    part, rest = self._waiting[0][:size], self._waiting[0][size:]
                    chunk[: len(part)] += part
                    self._waiting[:1] = [rest] if len(rest) else []
                sound = np.clip(np.rint(chunk), -32768, 32767).astype(np.int16)
                self._in.append(sound)
            try:
                process.stdin.write(sound.tobytes())
                process.stdin.flush()
            except OSError:
                return

    def _keep(self, process: subprocess.Popen[bytes]) -> None:
        assert process.stdout is not None
        while data := os.read(process.stdout.fileno(), 4096):
            with self._lock:
                self._out += data


class Spoken(NamedTuple):
    """A text in the tool's voice without its pauses, because pauses are alike in all texts."""

    length: int
    pieces: list[NDArray[np.float32]]


def spoken(text: str, voice: VoiceWorker) -> Spoken:
    speech = voice.speak(text)
    asked = soxr.resample(speech.samples, speech.rate, RATE).astype(np.float32)
    pieces = [asked[at : at + _PIECE] for at in range(0, len(asked) - _PIECE, _PIECE)]
    return Spoken(len(asked), [each for each in pieces if np.mean(each**2) >= 100**2])


def likenesses(heard: Samples, sought: dict[str, Spoken]) -> dict[str, float]:
    """Returns how much of a stretch of sound matches each text in the tool's voice: 0 to 1.

    It compares piece by piece, because a busy machine leaves gaps between them.
    """
    found = np.pad(heard, (0, max(0, _PIECE - len(heard)))).astype(np.float32)
    sums = np.concatenate(([0.0], np.cumsum(found.astype(float) ** 2)))
    energy = np.maximum(sums[_PIECE:] - sums[:-_PIECE], _PIECE)
    size = scipy.fft.next_fast_len(len(found), real=True)
    spectrum = scipy.fft.rfft(found, size)
    like = {}
    for text, (length, pieces) in sought.items():
        if len(heard) < length:
            like[text] = 0.0
            continue
        turned = (spectrum * np.conj(scipy.fft.rfft(piece, size)) for piece in pieces)
        matches = (np.abs(scipy.fft.irfft(each, size)[: len(energy)]) for each in turned)
        best = [
            np.max(match / np.sqrt(energy * np.sum(piece**2)))
            for match, piece in zip(matches, pieces, strict=True)
        ]
        like[text] = float(np.mean(best))
    return like


def said(room: Room, at: int, texts: Iterable[str], voice: VoiceWorker) -> tuple[str, int]:
    """Waits until one of the texts was spoken after sample ``at``, and for silence after it."""
    sought = {text: spoken(text, voice) for text in texts}
    like: dict[str, float] = {}
    until_s = time.monotonic() + 30
    while time.monotonic() < until_s:
        room.quiet(0.6)
        heard = room.heard
        like = likenesses(heard[at:], sought)
        best = max(like, key=like.__getitem__)
        if like[best] > _LIKE:
            return best, len(heard)
        time.sleep(0.5)
    raise AssertionError(f"none of them was said: {like}")


def _unread(handle: int) -> int:
    """Returns the number of bytes waiting in a pipe."""
    return struct.unpack("i", fcntl.ioctl(handle, termios.FIONREAD, b"\0" * 4))[0]


def flite(text: str, voice: str = "rms") -> Samples:
    """Returns a text in a synthetic voice other than the tool's, as loud as a person nearby."""
    if shutil.which("flite") is None:
        pytest.skip("flite is missing: apt install flite")
    import soundfile

    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "said.wav"
        subprocess.run(["flite", "-voice", voice, "-t", text, "-o", file], check=True)
        samples, rate = soundfile.read(file, dtype="int16")
    if rate != RATE:
        samples = soxr.resample(samples, rate, RATE)
    return samples
