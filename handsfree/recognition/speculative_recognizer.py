"""Recognizes an utterance while the silence that may end it is still being waited for.

What is found ahead counts only if the utterance did end there: nothing is done with a part of one.
"""

from __future__ import annotations

from concurrent.futures import Future, ThreadPoolExecutor

import numpy as np

from handsfree.recognition.recognizer import Recognized, Recognizer, Samples


class Ahead:
    """A recognizer that can begin in a thread of its own, before it is asked."""

    def __init__(self, recognizer: Recognizer) -> None:
        self._recognizer = recognizer
        self._thread = ThreadPoolExecutor(1, "recognizer")
        self._begun: tuple[Samples, Future[Recognized]] | None = None

    @property
    def busy(self) -> bool:
        """Whether a result is on its way, or there."""
        return self._begun is not None

    def begin(self, samples: Samples) -> None:
        """Begins with an utterance that may be whole."""
        self._begun = samples, self._thread.submit(self._recognizer.recognize, samples)

    def forget(self) -> None:
        """It was not whole: what was begun is of no use."""
        if self._begun is not None:
            self._begun[1].cancel()
        self._begun = None

    def recognize(self, samples: Samples) -> Recognized:
        """The words of one whole utterance, those found ahead if it began with that sound."""
        begun, self._begun = self._begun, None
        if begun is not None:
            part, found = begun
            if np.array_equal(samples[: len(part)], part):
                return found.result()
            found.cancel()
        return self._recognizer.recognize(samples)
