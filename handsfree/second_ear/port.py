"""The port of the second ear, and its fake."""

from __future__ import annotations

from collections.abc import Iterable
from concurrent.futures import Future
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from handsfree.errors import SecondEarError

Samples = NDArray[np.int16]


class SecondEar(Protocol):
    """Turns whole utterances into text, beside the talk.

    ``name`` is for the journal.
    """

    name: str

    def begin(self, samples: Samples) -> Future[str]:
        """Starts on one utterance (mono, 16 kHz) and returns at once.

        The future holds the text, '' where no speech was heard, or a SecondEarError when the
        ear is lost; after that every later one holds the same.
        """
        ...

    def close(self) -> None:
        """Ends what the ear holds. It may be called twice."""
        ...


class FakeSecondEar:
    """Hears the texts that it was made with, in turn.

    None stands for an utterance that takes forever, an error for the end of the ear.
    """

    name = "fake"

    def __init__(self, texts: Iterable[str | SecondEarError | None]) -> None:
        self._texts = iter(texts)
        self._lost: SecondEarError | None = None
        self.sounds: list[Samples] = []

    def begin(self, samples: Samples) -> Future[str]:
        """The next of the texts; with none left, nothing was heard."""
        self.sounds.append(samples)
        future: Future[str] = Future()
        text = next(self._texts, "") if self._lost is None else self._lost
        if isinstance(text, SecondEarError):
            self._lost = text
            future.set_exception(text)
        elif text is not None:
            future.set_result(text)
        return future

    def close(self) -> None:
        """Every later utterance finds it lost."""
        self._lost = SecondEarError("the second ear is closed")
