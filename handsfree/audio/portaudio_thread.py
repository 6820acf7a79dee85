"""The one thread that calls into PortAudio, with a time limit for the caller.

PortAudio is not thread-safe. With ALSA over PulseAudio a call may return late or never (aborting a
stream whose server is frozen, starting one whose server has died), while no Python signal handler
runs. Callers therefore submit the call here and wait in Python. While a call is running, any other
is refused at once; only a stream to be closed waits in line.
"""

from __future__ import annotations

import atexit
import threading
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

_Job = tuple[Callable[[], Any], "Future[Any]"]


def no_undo(result: object) -> None:
    """Does nothing: the result needs no release."""


class SoundThread:
    """Runs calls one after the other, in one thread for the whole life of the program."""

    def __init__(self) -> None:
        self._jobs: SimpleQueue[_Job] | None = None
        self._late: set[Future[Any]] = set()
        self._streams: set[Any] = set()

    @property
    def stuck(self) -> bool:
        """True while a call is late; nothing else may enter PortAudio then.

        A program that exits now must skip its cleanup, because PortAudio's threads still call into
        Python.
        """
        return bool(self._late)

    def call(
        self,
        job: Callable[[], T],
        *,
        limit_s: float = LIMIT_S,
        undo: Callable[[T], None] = no_undo,
    ) -> T:
        """Runs ``job`` in the sound thread and returns its result or raises its error.

        Raises SoundError if it takes longer than ``limit_s``, and at once while an earlier call is
        late. ``undo`` receives a result that arrives too late, in the sound thread.
        """
        if self.stuck:
            raise _no_answer()
        done = self._submit(job)
        try:
            return done.result(timeout=limit_s)
        except TimeoutError:
            if done.done():
                return done.result()
            self._leave(done, undo)
            raise _no_answer() from None

    def open(self, make: Callable[[], Any]) -> Any:
        """Opens and starts the stream that ``make`` returns.

        Raises SoundError as ``call`` does, and passes on sounddevice's PortAudioError and
        ValueError.
        """
        return self.call(partial(self._started, make), undo=self._close)

    def close(self, stream: Any, *, abort: bool = False, limit_s: float = CLOSE_LIMIT_S) -> None:
        """Releases a stream, even if its device is gone.

        The stream first plays what it has buffered; ``abort`` silences it at once. It waits for at
        most ``limit_s``, and not at all while an earlier call is late: the stream is closed once
        that call has returned.
        """
        was_stuck = self.stuck
        done = self._submit(partial(self._close, stream, abort=abort))
        if not was_stuck:
            with suppress(TimeoutError):
                done.result(timeout=limit_s)
        if not done.done():
            self._leave(done, no_undo)

    def restart(self) -> None:
        """Restarts PortAudio, which ends every stream. Raises SoundError as ``call`` does."""
        self.call(self._restart)

    def _submit(self, job: Callable[[], T]) -> Future[T]:
        if self._jobs is None:
            self._jobs = SimpleQueue()
            threading.Thread(target=_work, args=(self._jobs,), daemon=True).start()
        done: Future[T] = Future()
        self._jobs.put((job, done))
        return done

    def _leave(self, done: Future[T], undo: Callable[[T], None]) -> None:
        """Stops waiting for a call."""
        self._late.add(done)
        # The exit handler would hang, or trip one of PortAudio's assertions.
        atexit.unregister(sounddevice._exit_handler)

        def arrived(done: Future[T]) -> None:
            if done.exception() is None:
                self._submit(partial(undo, done.result()))
            self._late.discard(done)

        done.add_done_callback(arrived)

    # --- in the sound thread

    def _started(self, make: Callable[[], Any]) -> Any:
        stream = make()
        # PortAudio's threads call the stream's callback until it is closed, and its memory is freed
        # with the Python object, so dropping the last reference to an open stream crashes the
        # process.
        self._streams.add(stream)
        try:
            stream.start()
        except sounddevice.PortAudioError:
            self._close(stream)
            raise
        return stream

    def _close(self, stream: Any, *, abort: bool = False) -> None:
        if stream not in self._streams:
            return  # already closed by a restart
        if abort:
            stream.abort(ignore_errors=True)
        stream.close(ignore_errors=True)
        self._streams.discard(stream)

    def _restart(self) -> None:
        with suppress(sounddevice.PortAudioError):
            sounddevice._terminate()
        self._streams.clear()
        with suppress(sounddevice.PortAudioError):  # without a sound system there are no devices
            sounddevice._initialize()


def _no_answer() -> SoundError:
    return SoundError(
        "the sound system does not answer", way_out="restart this machine's sound server"
    )


def _work(jobs: SimpleQueue[_Job]) -> None:
    while True:
        job, done = jobs.get()
        try:
            result = job()
        except BaseException as error:
            done.set_exception(error)
        else:
            done.set_result(result)
        del job, done  # drop the reference while waiting


SOUND_THREAD = SoundThread()
