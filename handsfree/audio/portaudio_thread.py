"""The one thread that makes blocking calls into PortAudio, each with a time limit.

Seen with ALSA over PulseAudio: starting a stream whose server has died never returns, nor does
aborting one whose server is frozen, and meanwhile no Python signal handler runs. Callers therefore
submit the call here and wait in Python. A call that does not return is abandoned with its thread; a
result that arrives later is released.
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
"""Time limit of a call (s); opening a Bluetooth device takes up to three seconds."""
CLOSE_LIMIT_S = 1.0
DEAD_CLOSE_LIMIT_S = 0.2
"""Time limit for closing the stream of a dead device (s), so that its loss is reported at once."""
REST_S = 15.0
"""Pause before another call is tried while one hangs (s); the next may hang too."""

_Job = tuple[Callable[[], Any], "Future[Any]"]


def no_undo(result: object) -> None:
    """Does nothing: the result needs no release."""


class SoundThread:
    """Runs calls one after the other; a new thread replaces one that hangs."""

    def __init__(self) -> None:
        self._jobs: SimpleQueue[_Job] | None = None
        self._hanging: set[Future[Any]] = set()
        self._hung_s = 0.0

    @property
    def stuck(self) -> bool:
        """True while a call has not returned; PortAudio cannot be restarted then."""
        return bool(self._hanging)

    def call(
        self,
        job: Callable[[], T],
        *,
        limit_s: float = LIMIT_S,
        undo: Callable[[T], None] = no_undo,
    ) -> T:
        """Returns or raises what ``job`` does.

        Raises SoundError if it takes longer than ``limit_s``, or if another call still hangs and
        REST_S has not passed. ``undo`` receives a result that arrives too late.
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
        """Abandons a call together with its thread."""
        self._jobs = None
        self._hanging.add(done)
        self._hung_s = time.monotonic()
        # The exit handler would wait forever, or fail one of PortAudio's assertions.
        atexit.unregister(sounddevice._exit_handler)

        def late(done: Future[T]) -> None:
            if done.exception() is None:
                undo(done.result())
            self._hanging.discard(done)

        done.add_done_callback(late)


def _no_answer() -> SoundError:
    return SoundError(
        "the sound system does not answer", way_out="restart this machine's sound server"
    )


def close_stream(stream: Any, *, abort: bool = False, limit_s: float = CLOSE_LIMIT_S) -> None:
    """Releases a sounddevice stream, whatever happened to its device.

    The stream plays out what it was handed; ``abort`` silences it at once. A call that takes
    longer than ``limit_s`` is abandoned.
    """
    with suppress(SoundError, sounddevice.PortAudioError):
        SOUND_THREAD.call(partial(close_stream_here, stream, abort=abort), limit_s=limit_s)


def close_stream_here(stream: Any, *, abort: bool = False) -> None:
    """Closes a stream; call it on the sound thread only."""
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
