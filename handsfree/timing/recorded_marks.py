"""Finds marks in recorded sound: in a whole recording, or at one word in it."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from handsfree.sample_rate import SAMPLE_RATE_HZ
from handsfree.timing.mark import Mark
from handsfree.timing.onset_detector import LEAST_ODDS_OF_WORD, OnsetDetector

_BELOW_OTHERS_DB = 12.0
"""Level below the median mark at which a sound is not a mark (dB): the marks of one person at one
place are about equally loud.
"""

_NOISE_S = 6.0  # before a word, to learn the noise
AFTER_S = 2.0
"""Sound after the start of a word that is needed to decide its mark (s)."""


def marks_of(samples: NDArray[np.int16], expected: int) -> tuple[Mark, ...]:
    """Finds all marks of a recording (16 kHz, mono).

    If there are more than ``expected``, the search is repeated with a level close to that of the
    loudest ``expected`` marks, so that softer sounds count as noise from farther away. The result
    may still have more or fewer marks than expected.
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
    """Finds the mark of a word that starts within ``near_s`` of ``at_s`` in the stream (s).

    Because the word is evidence too, lower odds suffice, and clatter just before does not hide it.
    ``least_rms`` is as in :class:`OnsetDetector`. Returns None if nothing is found.
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
