"""The port of the second ear, and its fake."""

from __future__ import annotations

from collections.abc import Iterable
from concurrent.futures import Future
from typing import TYPE_CHECKING, Protocol

from handsfree.errors import SecondEarError

if TYPE_CHECKING:  # not available on a phone
    import numpy as np
    from numpy.typing import NDArray

    Samples = NDArray[np.int16]


class SecondEar(Protocol):
    """Turns whole utterances into text in the background.

    ``name`` is for the journal.
    """

    name: str

    def begin(self, samples: Samples) -> Future[str]:
        """Starts on one utterance (mono, 16 kHz) and returns at once.

        The future holds the text, '' if no speech was heard, or a SecondEarError once the ear is
        lost; then all later futures hold the same error.
        """
        ...

    def close(self) -> None:
        """Ends the ear; may be called twice."""
        ...


class FakeSecondEar:
    """A second ear that returns prepared texts in turn.

    None stands for an utterance that takes forever, an error for the loss of the ear.
    """

    name = "fake"

    def __init__(self, texts: Iterable[str | SecondEarError | None]) -> None:
        self._texts = iter(texts)
        self._lost: SecondEarError | None = None
        self.sounds: list[Samples] = []

    def begin(self, samples: Samples) -> Future[str]:
        """Returns the next text, or an empty one if none is left."""
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
        """Makes every later utterance fail as lost."""
        self._lost = SecondEarError("the second ear is closed")
