"""The one thread that calls into PortAudio where it may wait, with a limit to how long.

Seen with ALSA over PulseAudio: to start a stream whose server has died never returns, nor to abort
one whose server stands still, and while they wait no signal handler of Python's runs. So whoever
needs a stream asks here, and waits in Python. A call that does not come back is left behind with
its thread, and what it may bring later is let go of.
"""

from __future__ import annotations

import atexit
import threading
import time
from collections.abc import Callable
from concurrent.futures import Future
from contextlib import suppress
from functools import partial
from queue import SimpleQueue
from typing import Any, TypeVar

import sounddevice

from handsfree.errors import SoundError

T = TypeVar("T")

LIMIT_S = 5.0
"""Opening a Bluetooth device takes up to three seconds; one that takes longer is none."""
CLOSE_LIMIT_S = 1.0
DEAD_CLOSE_LIMIT_S = 0.2
"""Whoever waits to be told that a device is gone does not wait for it to be closed."""
REST_S = 15.0
"""While a call hangs, another is tried only every so often: it may hang too."""

_Job = tuple[Callable[[], Any], "Future[Any]"]


def no_undo(result: object) -> None:
    """Nothing to let go of."""


class SoundThread:
    """Runs one call after the other; a fresh thread takes over from one that hangs."""

    def __init__(self) -> None:
        self._jobs: SimpleQueue[_Job] | None = None
        self._hanging: set[Future[Any]] = set()
        self._hung_s = 0.0

    @property
    def stuck(self) -> bool:
        """Whether a call has not come back: PortAudio cannot be ended or begun anew then."""
        return bool(self._hanging)

    def call(
        self,
        job: Callable[[], T],
        *,
        limit_s: float = LIMIT_S,
        undo: Callable[[T], None] = no_undo,
    ) -> T:
        """What ``job`` returns or raises.

        Raises SoundError when it has not come back within ``limit_s``, or while another that has
        not rests; ``undo`` is given what it brings after that.
        """
        if self.stuck and time.monotonic() - self._hung_s < REST_S:
            raise _no_answer()
        if self._jobs is None:
            self._jobs = SimpleQueue()
            threading.Thread(target=_work, args=(self._jobs,), daemon=True).start()
        done: Future[T] = Future()
        self._jobs.put((job, done))
        try:
            return done.result(timeout=limit_s)
        except TimeoutError:
            if done.done():
                raise  # the job's own
            self._leave(done, undo)
            raise _no_answer() from None

    def _leave(self, done: Future[T], undo: Callable[[T], None]) -> None:
        """Leaves a call behind, with its thread."""
        self._jobs = None
        self._hanging.add(done)
        self._hung_s = time.monotonic()
        # At the end of the program it would wait for ever, or fail an assertion of PortAudio's.
        atexit.unregister(sounddevice._exit_handler)

        def late(done: Future[T]) -> None:
            if done.exception() is None:
                undo(done.result())
            self._hanging.discard(done)

        done.add_done_callback(late)


def _no_answer() -> SoundError:
    return SoundError(
        "the sound system does not answer", way_out="start this machine's sound server anew"
    )


def close(stream: Any, *, abort: bool = False, limit_s: float = CLOSE_LIMIT_S) -> None:
    """Lets go of a stream of sounddevice, whatever has become of its device.

    It plays what it was handed, but with ``abort`` it falls silent at once. What takes longer
    than ``limit_s`` is left to itself.
    """
    with suppress(SoundError, sounddevice.PortAudioError):
        SOUND_THREAD.call(partial(end, stream, abort=abort), limit_s=limit_s)


def end(stream: Any, *, abort: bool = False) -> None:
    """Closes a stream; for whoever is on the sound thread already."""
    if abort:
        stream.abort(ignore_errors=True)
    stream.close(ignore_errors=True)


def _work(jobs: SimpleQueue[_Job]) -> None:
    while True:
        job, done = jobs.get()
        try:
            result = job()
        except BaseException as error:
            done.set_exception(error)
        else:
            done.set_result(result)


SOUND_THREAD = SoundThread()
