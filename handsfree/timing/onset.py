"""Finds where marks begin, in a stream of raw samples.

A sound is noticed when it stands out of the noise of the last seconds, band by band. Where it
began is sought from a third of a second before that moment: at the frame from which the
evidence for more than noise is greatest, and within a few milliseconds where the variance of
the sound changes.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from handsfree.timing.mark import Mark
from handsfree.timing.noise_floor import (
    FRAME_S,
    HOP,
    SMOOTH,
    WINDOW,
    Floats,
    NoiseFloor,
    band_powers,
    mean_square,
    smoothed,
)
from handsfree.timing.sharpness import change_at, start_of, uncertainty_s

MIN_GAP_S = 0.5
"""Sounds nearer than this are one mark: an echo, the leaf's own thump, a second syllable."""
LONGEST_S = 1.3
"""What lasts longer is no mark: a machine that starts, a sentence."""
VOICE_SHARE = 0.7
"""The loudest 10 ms of a word are some 6 dB over its RMS; half of that is left for soft words."""

_CHUNK = 1600  # samples that are worked on at a time, whatever the size of the blocks fed
_WARM_UP_S = 0.4
_LEAST_DB, _ABOVE_USUAL_DB = 10.0, 3.0
_MOST_DB = 15.0  # where the level of the voice is told, and so keeps noise from counting
_END_BELOW_DB = 5.0
_HANG = round(0.15 / FRAME_S)
_LOOK_BACK = round(0.35 / FRAME_S)
_LOOK_ON = 8  # frames after it was noticed: there it certainly is
_FIRST = round(0.02 / FRAME_S)
_REFINE = 240  # samples to both sides: 15 ms
_ANEW = round(0.5 / FRAME_S)
_KEPT = round(3.0 / FRAME_S)
_FULL_SCALE, _CLIPPED_SHARE = 0.999, 1e-3


@dataclass(frozen=True)
class _Sounding:
    """A sound that was noticed: frame numbers of the stream, and the noise before it."""

    noticed: int
    last_loud: int
    end_db: float
    peak_db: float
    peak_power: float
    floor: Floats
    usual: Floats


class OnsetDetector:
    """Feed it a stream of 16 kHz mono samples in blocks of any size; it gives back the marks.

    ``min_gap_s`` is the least time from mark to mark. ``least_rms`` (0 to 1, of full scale) is
    what the loudest 10 ms of a mark must reach: VOICE_SHARE of the RMS of the person's voice keeps
    sounds from farther away from counting; 0 lets only the noise decide.

    A mark is given 0.15 to 0.3 s after its sound has ended. The first 0.4 s of the stream only
    teach the noise. The same samples give the same marks, however they are cut into blocks.
    """

    def __init__(self, min_gap_s: float = MIN_GAP_S, least_rms: float = 0.0) -> None:
        self._min_gap = round(min_gap_s / FRAME_S)
        self._least_power = least_rms**2
        self._floor = NoiseFloor()
        self._waiting = np.empty(0)
        self._samples = np.empty(0)
        self._powers = band_powers(np.zeros(WINDOW))[:0]
        self._levels_db = np.empty(0)
        self._quiet = np.empty(0, dtype=bool)
        self._learned = 0  # the frame of the stream that the floor has learned up to
        self._first = 0  # the frame of the stream that the kept samples and powers begin with
        self._sounding: _Sounding | None = None
        self._last_end = 0
        self._last_onset = -self._min_gap

    def feed(self, block: NDArray[np.int16] | NDArray[np.float32] | Floats) -> tuple[Mark, ...]:
        """Takes the next samples (16-bit, or float in -1 to 1) and gives the marks that ended."""
        scale = 32768.0 if np.issubdtype(block.dtype, np.integer) else 1.0
        self._waiting = np.concatenate((self._waiting, block.astype(np.float64) / scale))
        marks: list[Mark] = []
        while len(self._waiting) >= _CHUNK:
            chunk, self._waiting = self._waiting[:_CHUNK], self._waiting[_CHUNK:]
            marks += self._work(chunk)
        return tuple(marks)

    def finish(self) -> tuple[Mark, ...]:
        """The stream has ended: gives the mark that was still sounding, if any."""
        marks = self._work(self._waiting)
        self._waiting = np.empty(0)
        if self._sounding is not None:
            marks += self._marks(self._sounding)
            self._sounding = None
        return tuple(marks)

    def _work(self, chunk: Floats) -> list[Mark]:
        self._samples = np.concatenate((self._samples, chunk))
        known = len(self._powers)
        new = self._samples[known * HOP :]
        if len(new) < WINDOW:
            return []
        powers = band_powers(new)
        self._powers = np.concatenate((self._powers, powers))
        smooth = smoothed(self._powers[max(0, known - SMOOTH) :])[-len(powers) :]
        if self._first + known == 0:
            self._floor.start_anew(powers)
        loud = mean_square(smooth)
        self._levels_db = np.concatenate((self._levels_db, np.zeros(len(powers))))
        self._quiet = np.concatenate((self._quiet, np.ones(len(powers), dtype=bool)))
        marks: list[Mark] = []
        for nth in range(len(powers)):
            # Frame by frame, for the floor may change within a chunk.
            level_db = float(self._floor.level_db(smooth[nth]))
            self._levels_db[known + nth] = level_db
            marks += self._step(self._first + known + nth, level_db, float(loud[nth]))
        self._learn()
        self._forget()
        return marks

    def _step(self, frame: int, level_db: float, power: float) -> list[Mark]:
        now = self._sounding
        if now is None:
            usual_db = self._floor.usual_db
            threshold_db = max(_LEAST_DB, usual_db + _ABOVE_USUAL_DB)
            if self._least_power:
                threshold_db = min(threshold_db, _MOST_DB)
            heard = level_db >= threshold_db and power >= self._least_power
            if heard and frame * FRAME_S >= _WARM_UP_S:
                self._sounding = _Sounding(
                    noticed=frame,
                    last_loud=frame,
                    end_db=max(threshold_db - _END_BELOW_DB, min(usual_db, _MOST_DB) + 1),
                    peak_db=level_db,
                    peak_power=power,
                    floor=self._floor.power,
                    usual=self._floor.usual,
                )
            return []
        if level_db > now.end_db:
            now = self._sounding = replace(
                now,
                last_loud=frame,
                peak_db=max(now.peak_db, level_db),
                peak_power=max(now.peak_power, power),
            )
        ended = frame - now.last_loud >= _HANG
        if not ended and (frame - now.noticed) * FRAME_S < LONGEST_S:
            return []
        self._sounding = None
        if ended:
            marks = self._marks(now)
            self._last_end = now.last_loud
            return marks
        self._last_end = now.last_loud
        row = frame - self._first
        self._floor.start_anew(self._powers[max(0, row - _ANEW) : row])
        self._learned = frame
        return []

    def _marks(self, now: _Sounding) -> list[Mark]:
        """The mark of a sound that has ended; none where it belongs to the mark before it."""
        sounds = now.last_loud - now.noticed
        earliest = max(now.noticed - _LOOK_BACK, self._last_end, self._first)
        rows = self._powers[earliest - self._first : now.noticed - self._first + _LOOK_ON]
        # The mean of 10 ms up to a frame belongs to the frame in their middle.
        start = earliest + start_of(smoothed(rows)[SMOOTH // 2 :] / now.usual, sounds)
        self._quiet[start - self._first : now.last_loud + _HANG - self._first] = False
        if start - self._last_onset < self._min_gap:
            return []
        self._last_onset = start
        row = start - self._first
        first = (self._powers[row : row + _FIRST] / now.floor).mean()
        end = now.last_loud * HOP + WINDOW
        body = np.abs(self._samples[row * HOP : end - self._first * HOP])
        return [
            Mark(
                sample=self._refined(row),
                end_sample=end,
                snr_db=round(now.peak_db, 1),
                level_db=round(10 * math.log10(now.peak_power), 1),
                uncertainty_s=uncertainty_s(10 * math.log10(first), sounds),
                clipped=bool(np.mean(body >= _FULL_SCALE) > _CLIPPED_SHARE),
            )
        ]

    def _refined(self, row: int) -> int:
        """The sample of the stream at which the sound of a kept frame begins."""
        middle = row * HOP + WINDOW - HOP
        low = max(0, middle - _REFINE)
        # Differences whiten: hum and rumble hide the start of a word from a variance.
        part = np.diff(self._samples[low : middle + _REFINE], prepend=self._samples[low])
        return self._first * HOP + low + change_at(part)

    def _learn(self) -> None:
        """Teaches the floor what is old enough to be known as no part of a mark."""
        until = self._first + len(self._powers) - _LOOK_BACK
        if self._sounding is not None:
            until = min(until, self._sounding.noticed - _LOOK_BACK)
        if until <= self._learned:
            return
        rows = slice(self._learned - self._first, until - self._first)
        quiet = self._quiet[rows]
        self._floor.learn(self._powers[rows][quiet], self._levels_db[rows][quiet])
        self._learned = until

    def _forget(self) -> None:
        extra = len(self._powers) - _KEPT
        if extra > 0:
            self._powers = self._powers[extra:]
            self._samples = self._samples[extra * HOP :]
            self._levels_db = self._levels_db[extra:]
            self._quiet = self._quiet[extra:]
            self._first += extra
