"""Starts recognition early, during the silence that may end an utterance.

An early result counts only if the utterance really ended there; a partial utterance has no effect.
"""

from __future__ import annotations

from concurrent.futures import Future, ThreadPoolExecutor

import numpy as np

from handsfree.recognition.heard_words import Recognized
from handsfree.recognition.recognizer import Recognizer, Samples


class SpeculativeRecognizer:
    """A recognizer that can start in its own thread before the utterance has ended."""

    def __init__(self, recognizer: Recognizer) -> None:
        self._recognizer = recognizer
        self._thread = ThreadPoolExecutor(1, "recognizer")
        self._begun: tuple[Samples, Future[Recognized]] | None = None

    @property
    def busy(self) -> bool:
        """True once recognition has started, even if it is finished."""
        return self._begun is not None

    def begin(self, samples: Samples) -> None:
        """Starts on an utterance that may be complete."""
        self._begun = samples, self._thread.submit(self._recognizer.recognize, samples)

    def forget(self) -> None:
        """Discards the early start: the utterance was not complete."""
        if self._begun is not None:
            self._begun[1].cancel()
        self._begun = None

    def recognize(self, samples: Samples) -> Recognized:
        """Returns the words of one whole utterance, using the early result if it began with that
        sound.
        """
        begun, self._begun = self._begun, None
        if begun is not None:
            part, found = begun
            if np.array_equal(samples[: len(part)], part):
                return found.result()
            found.cancel()
        return self._recognizer.recognize(samples)
