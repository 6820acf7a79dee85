"""The marks of a whole recording, of which it is known how many it should have."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from handsfree.timing.mark import Mark
from handsfree.timing.onset import OnsetDetector

_BELOW_OTHERS_DB = 12.0
"""One person's marks at one place are about equally loud; what is so much softer is none."""


def marks_of(samples: NDArray[np.int16], expected: int) -> tuple[Mark, ...]:
    """All marks of a recording (16 kHz, mono).

    Where there are more than ``expected``, the sounds are sought again among those that come
    near the level of the loudest ``expected``: the softer ones are taken for noise from farther
    away. More or fewer than expected may be left; nothing is chosen then.
    """
    found = _marks(samples, 0.0)
    if len(found) <= expected:
        return found
    loudest = sorted(mark.level_db for mark in found)[-expected:]
    least_db = float(np.median(loudest)) - _BELOW_OTHERS_DB
    return _marks(samples, math.sqrt(10 ** (least_db / 10)))


def _marks(samples: NDArray[np.int16], least_rms: float) -> tuple[Mark, ...]:
    detector = OnsetDetector(least_rms=least_rms)
    return detector.feed(samples) + detector.finish()
