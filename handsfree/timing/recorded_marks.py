"""Marks in sound that is there already: a whole recording's, and that of a word heard in it."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from handsfree.sample_rate import SAMPLE_RATE_HZ
from handsfree.timing.mark import Mark
from handsfree.timing.onset_detector import LEAST_ODDS_OF_WORD, OnsetDetector

_BELOW_OTHERS_DB = 12.0
"""One person's marks at one place are about equally loud; what is so much softer is none."""

_NOISE_S = 6.0  # before a word: what the noise is learned from
AFTER_S = 2.0
"""So much sound after the start of a word tells what its mark is."""


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


def mark_of_word(
    samples: NDArray[np.int16], at_s: float, near_s: float, least_rms: float
) -> Mark | None:
    """The mark of a word that is heard to start within ``near_s`` of a second of the stream.

    The word is evidence of its own: less is asked of the sound than elsewhere, and a clatter
    right before it does not hide it. ``least_rms`` is that of :class:`OnsetDetector`. None where
    nothing is found even so.
    """
    first = max(0, round((at_s - _NOISE_S) * SAMPLE_RATE_HZ))
    part = samples[first : round((at_s + AFTER_S) * SAMPLE_RATE_HZ)]
    detector = OnsetDetector(near_s, least_rms, LEAST_ODDS_OF_WORD)
    found = [
        mark.model_copy(
            update={"sample": mark.sample + first, "end_sample": mark.end_sample + first}
        )
        for mark in detector.feed(part) + detector.finish()
    ]
    near = [mark for mark in found if abs(mark.at_s - at_s) <= near_s]
    return min(near, key=lambda mark: abs(mark.at_s - at_s), default=None)
