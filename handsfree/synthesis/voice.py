"""The speaking voice: text to sound, made in a process that may hang or die."""

from __future__ import annotations

import json
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Sequence
from contextlib import suppress
from pathlib import Path
from queue import Empty, SimpleQueue
from typing import IO, Any, Protocol

import numpy as np
import soundfile

from handsfree.audio.playback import Speech
from handsfree.errors import VoiceError
from handsfree.settings import USUAL_WPM

WAY_OUT = "install a voice: apt install espeak-ng, or pip install 'handsfree[voice]'"
START_LIMIT_S = 10.0
"""Time limit for starting a voice, including its libraries on a cold machine (s)."""
WORKER_COMMAND = (sys.executable, "-m", "handsfree.synthesis.tts_worker")


class Voice(Protocol):
    """Turns text into sound."""

    def speak(self, text: str, rate_wpm: int = USUAL_WPM) -> Speech:
        """Returns the text as sound at a rate in words per minute.

        Raises VoiceError if it cannot be made.
        """
        ...

    def close(self) -> None:
        """Ends the voice; may be called twice."""
        ...


class VoiceWorker:
    """A voice in its own process, one text at a time.

    A worker speaks at one rate; another rate needs a new worker (0.1 s more). A worker that dies,
    answers nonsense, or takes longer than ``time_limit_s`` for a text is killed, and a new one
    tries the text once more. If that one hangs too, texts fail at once for ``rest_s`` seconds, so
    that the caller can print them without waiting; after that a text is tried in only one new
    worker. The latest sounds are cached in memory, up to ``kept_bytes`` (20 MB are about 8
    minutes), because most prompts recur. The voice is the first one on this machine for any of
    ``languages`` (tags such as 'es-419'), or the machine's default if none is given.
    """

    def __init__(
        self,
        *,
        time_limit_s: float = 5.0,
        rest_s: float = 30.0,
        kept_bytes: int = 20_000_000,
        command: Sequence[str] = WORKER_COMMAND,
        languages: Sequence[str] = (),
    ) -> None:
        self._command = (*command, *languages)
        self._time_limit_s = time_limit_s
        self._rest_s = rest_s
        self._rests_until_s: float | None = None
        self._cache = _Cache(kept_bytes)
        self._worker: _Worker | None = None
        self._folder = tempfile.TemporaryDirectory(prefix="handsfree-voice-")

    @property
    def process_id(self) -> int | None:
        """The worker's process id, or None while no worker runs."""
        return None if self._worker is None else self._worker.process_id

    def start(self, rate_wpm: int = USUAL_WPM) -> None:
        """Starts the worker for a rate now, to find out whether there is a voice.

        Raises VoiceError saying what is missing.
        """
        if self._worker is not None and self._worker.rate_wpm != rate_wpm:
            self._stop()
        if self._worker is None:
            try:
                worker = _Worker(self._command, rate_wpm)
            except OSError as error:
                raise VoiceError(
                    f"the voice cannot be started: {error}", way_out=WAY_OUT
                ) from error
            try:
                worker.answer(START_LIMIT_S)
            except _WorkerLost as lost:
                worker.kill()
                raise VoiceError(f"the voice cannot be started: {lost}", way_out=WAY_OUT) from lost
            except VoiceError:
                worker.kill()
                raise
            self._worker = worker

    def speak(self, text: str, rate_wpm: int = USUAL_WPM) -> Speech:
        """Returns the text as sound, newly made or from the cache."""
        key = text, rate_wpm
        speech = self._cache.get(key)
        if speech is None:
            speech = self._made(*key)
            self._cache.put(key, speech)
        return speech

    def close(self) -> None:
        """Ends the worker and removes its files."""
        self._stop()
        self._folder.cleanup()

    def _made(self, text: str, rate_wpm: int) -> Speech:
        """Makes the sound of a text, if necessary in a second worker; pauses after slow
        failures.
        """
        begun_s, until_s = time.monotonic(), self._rests_until_s
        if until_s is not None and begun_s < until_s:
            raise VoiceError("the voice hung and will be tried again later", way_out=WAY_OUT)
        try:
            try:
                speech = self._make(text, rate_wpm)
            except _WorkerLost:
                self._stop()
                if until_s is not None:  # nothing was spoken since the pause
                    raise
                speech = self._make(text, rate_wpm)
        except (_WorkerLost, VoiceError) as error:
            now_s = time.monotonic()
            slow = now_s - begun_s >= self._time_limit_s / 2
            self._rests_until_s = now_s + self._rest_s if slow else None
            if isinstance(error, VoiceError):
                raise
            self._stop()
            why = f"the voice cannot say '{text}': {error}"
            raise VoiceError(why, way_out=WAY_OUT) from error
        self._rests_until_s = None
        return speech

    def _make(self, text: str, rate_wpm: int) -> Speech:
        self.start(rate_wpm)
        assert self._worker is not None
        path = Path(self._folder.name) / "speech.wav"
        path.unlink(missing_ok=True)
        self._worker.request(text, path)
        self._worker.answer(self._time_limit_s)
        try:
            samples, rate = soundfile.read(path, dtype="int16", always_2d=True)
        except (soundfile.LibsndfileError, OSError) as error:
            raise _WorkerLost("its process wrote no sound") from error
        return Speech(np.ascontiguousarray(samples[:, 0]), rate)

    def _stop(self) -> None:
        if self._worker is not None:
            self._worker.kill()
            self._worker = None


_Key = tuple[str, int]  # a text and its rate


class _Cache:
    """Cache of the latest sounds, limited in bytes."""

    def __init__(self, limit_bytes: int) -> None:
        self._limit_bytes = limit_bytes
        self._bytes = 0
        self._speeches: dict[_Key, Speech] = {}  # the most recently used is last

    def get(self, key: _Key) -> Speech | None:
        speech = self._speeches.pop(key, None)
        if speech is not None:
            self._speeches[key] = speech
        return speech

    def put(self, key: _Key, speech: Speech) -> None:
        self._speeches[key] = speech
        self._bytes += speech.samples.nbytes
        while self._bytes > self._limit_bytes:
            oldest = next(iter(self._speeches))
            self._bytes -= self._speeches.pop(oldest).samples.nbytes


class FakeVoice:
    """A voice that makes a tone, 0.1 s per word at the default rate, and records its texts."""

    RATE = 22_050

    def __init__(self) -> None:
        self.said: list[str] = []

    def speak(self, text: str, rate_wpm: int = USUAL_WPM) -> Speech:
        """Returns the tone."""
        self.said.append(text)
        length = max(1, len(text.split())) * self.RATE * USUAL_WPM // (10 * rate_wpm)
        tone = 8000 * np.sin(2 * np.pi * 440 / self.RATE * np.arange(length))
        return Speech(tone.astype(np.int16), self.RATE)

    def close(self) -> None:
        """Does nothing: there is no process."""


class _WorkerLost(Exception):
    """The worker died, hung or answered nonsense."""


class _Worker:
    """One worker process and the thread that reads its answers."""

    def __init__(self, command: Sequence[str], rate_wpm: int) -> None:
        self.rate_wpm = rate_wpm
        self._process = subprocess.Popen(
            [*command, str(rate_wpm)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            text=True,
            encoding="utf-8",
        )
        assert self._process.stdin is not None and self._process.stdout is not None
        self._stdin, self._stdout = self._process.stdin, self._process.stdout
        self._answers: SimpleQueue[str] = SimpleQueue()
        self._reader = threading.Thread(
            target=_read_lines, args=(self._stdout, self._answers), daemon=True
        )
        self._reader.start()

    @property
    def process_id(self) -> int:
        return self._process.pid

    def request(self, text: str, path: Path) -> None:
        try:
            self._stdin.write(json.dumps({"text": text, "path": str(path)}) + "\n")
            self._stdin.flush()
        except OSError as error:
            raise _WorkerLost("its process has died") from error

    def answer(self, time_limit_s: float) -> None:
        """Waits for 'ok'. Raises VoiceError with the reason in any other answer."""
        try:
            line = self._answers.get(timeout=time_limit_s)
        except Empty as error:
            raise _WorkerLost(f"no answer within {time_limit_s:g} s") from error
        if not line:
            raise _WorkerLost("its process has died")
        try:
            answer: dict[str, Any] = json.loads(line)
            spoken, why = answer["ok"], answer.get("why", "")
        except (ValueError, TypeError, KeyError, AttributeError) as error:
            raise _WorkerLost("its process gave an invalid answer") from error
        if not spoken:
            raise VoiceError(f"the voice cannot speak: {why}", way_out=WAY_OUT)

    def kill(self) -> None:
        self._process.kill()
        self._process.wait()
        self._reader.join()
        for pipe in (self._stdin, self._stdout):
            with suppress(OSError):  # input that a dead worker did not read cannot be flushed
                pipe.close()


def _read_lines(stream: IO[str], lines: SimpleQueue[str]) -> None:
    for line in stream:
        lines.put(line)
    lines.put("")
