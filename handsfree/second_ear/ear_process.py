"""Runs the second ear in a separate process, so that a slow or dead one cannot harm the visit."""

from __future__ import annotations

import base64
import json
import subprocess
import sys
import threading
from collections.abc import Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import suppress
from queue import Empty, SimpleQueue
from typing import IO, TYPE_CHECKING

from handsfree.errors import SecondEarError

if TYPE_CHECKING:
    from handsfree.second_ear.port import Samples

COMMAND = (sys.executable, "-m", "handsfree.second_ear.worker")
START_LIMIT_S = 30.0
"""Time limit for loading the network on a cold machine (s)."""
LIMIT_S = 20.0
"""Longest time for one utterance (s); after that the process is ended for good."""


class ProcessEar:
    """Loads the network in a process and recognizes utterances there, one at a time.

    The constructor returns before the network is loaded; the first future reports a failure to
    load. A process that dies, answers nonsense or exceeds its limit is ended for good.
    """

    def __init__(
        self,
        name: str,
        *arguments: str,
        command: Sequence[str] = COMMAND,
        start_limit_s: float = START_LIMIT_S,
        limit_s: float = LIMIT_S,
    ) -> None:
        self.name = name
        self._limit_s = limit_s
        self._lost: SecondEarError | None = None
        self._lines: SimpleQueue[str] = SimpleQueue()
        try:
            self._process = subprocess.Popen(
                [*command, *arguments],
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                stderr=subprocess.DEVNULL,
                text=True,
                encoding="utf-8",
            )
        except OSError as error:
            raise SecondEarError(f"the second ear cannot be started: {error}") from error
        assert self._process.stdin is not None and self._process.stdout is not None
        self._stdin, self._stdout = self._process.stdin, self._process.stdout
        self._reader = threading.Thread(
            target=_read_lines, args=(self._stdout, self._lines), daemon=True
        )
        self._reader.start()
        self._queue = ThreadPoolExecutor(1, "second-ear")
        self._loaded = self._queue.submit(self._answer, start_limit_s)

    @property
    def process_id(self) -> int:
        """Process id of the network."""
        return self._process.pid

    def wait_until_loaded(self) -> None:
        """Waits until the network is loaded. Raises SecondEarError if it cannot be."""
        self._loaded.result()

    def begin(self, samples: Samples) -> Future[str]:
        """Queues one utterance and returns at once."""
        if self._lost is not None:
            lost: Future[str] = Future()
            lost.set_exception(self._lost)
            return lost
        return self._queue.submit(self._hear, samples)

    def close(self) -> None:
        """Ends the process; results still missing are lost."""
        self._lost = self._lost or SecondEarError("the second ear is closed")
        self._process.kill()  # also ends a pending wait
        self._queue.shutdown(wait=True, cancel_futures=True)
        self._process.wait()
        self._reader.join()
        for pipe in (self._stdin, self._stdout):
            with suppress(OSError):  # input that a dead process did not read cannot be flushed
                pipe.close()

    def _hear(self, samples: Samples) -> str:
        if self._lost is not None:
            raise self._lost
        sound = base64.b64encode(samples.astype("<i2").tobytes()).decode("ascii")
        try:
            self._stdin.write(json.dumps({"sound": sound}) + "\n")
            self._stdin.flush()
        except OSError as error:
            raise self._lose("its process has died") from error
        return self._answer(self._limit_s)

    def _answer(self, limit_s: float) -> str:
        try:
            line = self._lines.get(timeout=limit_s)
        except Empty as error:
            raise self._lose(f"no answer within {limit_s:g} s") from error
        if not line:
            raise self._lose("its process has died")
        try:
            answer = json.loads(line)
            why, text = answer.get("why"), answer.get("text")
        except (ValueError, AttributeError) as error:
            raise self._lose("its process gave an invalid answer") from error
        if not isinstance(text, str):
            raise self._lose(str(why or "its process gave an invalid answer"))
        return text

    def _lose(self, why: str) -> SecondEarError:
        if self._lost is None:
            self._lost = SecondEarError(why)
            self._process.kill()
        return self._lost


def _read_lines(stream: IO[str], lines: SimpleQueue[str]) -> None:
    for line in stream:
        lines.put(line)
    lines.put("")
