"""The record of a timed run: sound, marks and words."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from handsfree.timing.cycle import Label
from handsfree.timing.mark import Mark

if TYPE_CHECKING:  # not available on a phone
    import numpy as np
    from numpy.typing import NDArray


@dataclass(frozen=True)
class CycleRun:
    """The sound, marks and words of one cycle.

    Marks and labels count from the first sample of the sound, which spans ``start_s`` to ``end_s``
    on the source's clock. The sound is ``samples``, or FLAC if the source has compressed it.
    """

    marks: tuple[Mark, ...]
    labels: tuple[Label, ...]
    samples: NDArray[np.int16] | bytes
    cancelled: bool = False
    start_s: float | None = None
    end_s: float | None = None
