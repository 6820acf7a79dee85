"""Where a noticed sound began, and how well that is known."""

from __future__ import annotations

import numpy as np

from handsfree.timing.noise_floor import FRAME_S, Floats

SHORT = round(0.12 / FRAME_S)
"""Frames: what sounds for less is a tap or a click, whose start is its loudest part."""

_MOST_EVIDENCE = 2.0  # of one band in one frame: one loud frame is not all there is
_WORD_DRIFT, _SHORT_DRIFT = 1.2, 2.5  # what a frame without evidence costs
_EDGE = 16  # samples that a stretch must have for its variance to be told
_LEAST_POWER = 1e-14

# Contrast in dB, and the standard uncertainty in s at it, so that 95 % of the errors lie within
# 1.96 of it: tuned on voices and noises other than those of the bench (docs/timing.md).
_OF_WORDS = ((12.0, 20.0, 30.0), (0.060, 0.034, 0.004))
_OF_TAPS = ((12.0, 20.0), (0.020, 0.001))
_TAP_S = 0.09


def start_of(ratios: Floats, sounds_frames: int) -> int:
    """The frame (row) at which the sound began that is certainly there in the last rows.

    ``ratios`` are powers by frame and band over what the noise passes in one frame of 20.
    The start is the frame from which the evidence for more than noise, summed up to the end,
    is greatest: a weak first consonant counts, with the gap after it, as long as it brings more
    than the gap costs.
    """
    drift = _SHORT_DRIFT if sounds_frames < SHORT else _WORD_DRIFT
    evidence = np.clip(np.log(ratios), 0.0, _MOST_EVIDENCE).sum(axis=1) - drift
    return int(np.argmax(np.cumsum(evidence[::-1])[::-1]))


def change_at(samples: Floats) -> int:
    """The sample at which a noise turns into something louder: Akaike's criterion.

    The best split into two stretches of one variance each (Maeda's form, known from picking
    the first waves of earthquakes: memory). 0 where there are too few samples.
    """
    count = len(samples)
    if count <= 2 * _EDGE:
        return 0
    energy = np.cumsum(samples**2) + _LEAST_POWER
    splits = np.arange(_EDGE, count - _EDGE)
    before = energy[splits - 1] / splits
    after = (energy[-1] - energy[splits - 1] + _LEAST_POWER) / (count - splits)
    cost = splits * np.log(before) + (count - splits) * np.log(after)
    return int(splits[np.argmin(cost)])


def uncertainty_s(contrast_db: float, sounds_frames: int) -> float:
    """The standard uncertainty of a start, from its first 20 ms over the noise, in dB.

    A word may begin too softly to be heard in the noise; a tap cannot.
    """
    contrasts, values = _OF_TAPS if sounds_frames * FRAME_S < _TAP_S else _OF_WORDS
    return round(float(np.exp(np.interp(contrast_db, contrasts, np.log(values)))), 4)
