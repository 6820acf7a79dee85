"""Finds the marks in a stream of raw samples.

For each frame of 4 ms a neural net estimates how likely a mark begins there, from half a second on
both sides and from the noise before. Where evidence accumulates there is a mark, if it is loud
enough to be the person's and decays in time. Its moment is the beat of the sound.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

from handsfree.sample_rate import SAMPLE_RATE_HZ
from handsfree.timing.mark import MIN_GAP_S, VOICE_SHARE, Mark
from handsfree.timing.noise_floor import (
    FRAME_S,
    HOP,
    WINDOW,
    Floats,
    band_powers,
    end_of,
    in_pairs,
    mean_square,
    noise_of,
    unbroken_from,
)
from handsfree.timing.onset_net import REACH, OnsetNet, features_of
from handsfree.timing.p_center import AHEAD_S, BEFORE_S, MARGIN_S, beat_of
from handsfree.timing.tap_detection import change_at

LONGEST_S = 1.3
"""Longest sound that is a mark (s); longer ones are machines starting, or sentences."""
LEAST_ODDS, LEAST_ODDS_OF_WORD = 6.0, 1.0
"""Odds required for a mark, and for a mark at a recognized word. Chosen on noises that the nets
were not trained on (handsfree.training.marks).
"""

_CHUNK = 1600  # samples processed at a time, whatever the size of the blocks
_BLOCK = 100  # frames that the net evaluates at a time
_WARM_UP = round(0.4 / FRAME_S)
_LAG = round(0.6 / FRAME_S)  # closer frames may be part of a mark that is not known yet
_MEMORY = round(4.0 / FRAME_S)
_KEPT = round(7.0 / FRAME_S)
_NEAR = round(0.25 / FRAME_S)  # evidence this close to the best frame is about the same sound
_GATHERED = round(0.05 / FRAME_S)
_LOUD, _LEAST_ODDS_OF_LOUD = 10**2.0, 1.0  # this far above the usual noise, even odds are enough
_LOUD_WITHIN = round(0.4 / FRAME_S)
_HANG = round(0.15 / FRAME_S)
_ENDED_BELOW, _ENDED_OVER_NOISE = 0.1, 2.5  # shares of the peak and of the noise, in power
_PLAIN = 10**3.2  # of the peak over the usual noise, in power
_STEADY = 10.0  # largest ratio of usual noise to its mean, in power
_SEEN_OVER_NOISE, _SEEN_OF_PEAK = 2.0, 10**-2.0
_ALONE, _HELD_OF_PEAK = 10**2.5, 10**-1.5  # over the usual noise; of the peak
_LOOK_BACK = round(1.0 / FRAME_S)
_BRIDGED = round(0.1 / FRAME_S)
_REFINE = 160  # samples to both sides: 10 ms
_BEAT_BEFORE, _BEAT_AFTER = (
    round((seconds + MARGIN_S) * SAMPLE_RATE_HZ) for seconds in (BEFORE_S, AHEAD_S)
)
_FULL_SCALE, _CLIPPED_SHARE = 0.999, 1e-3


class OnsetDetector:
    """Finds marks in a stream of 16 kHz mono samples fed in blocks of any size.

    ``min_gap_s`` is the smallest time between marks. ``least_rms`` (0 to 1, of full scale) is the
    level that the loudest 10 ms of a mark must reach: VOICE_SHARE of the RMS of the person's voice
    excludes sounds from farther away; with 0 only the noise decides. ``least_odds`` are the
    required odds of a mark.

    A mark is returned 0.8 to 1.2 s after it began, later if it is still sounding. The first 0.4 s
    are only used to learn the noise. The same samples give the same marks, however they are split
    into blocks.
    """

    def __init__(
        self,
        min_gap_s: float = MIN_GAP_S,
        least_rms: float = 0.0,
        least_odds: float = LEAST_ODDS,
    ) -> None:
        self._min_gap = round(min_gap_s / FRAME_S)
        self._least_power = least_rms**2
        self._least_odds = least_odds
        self._voice_power = (least_rms / VOICE_SHARE) ** 2 if least_rms else None
        self._net = OnsetNet.load()
        self._waiting = np.empty(0)
        self._first = 0  # frame of the stream with which all buffers begin
        self._samples = np.empty(0)
        self._powers = band_powers(np.empty(0))
        self._odds = np.empty(0)
        self._noise = np.empty(0, dtype=bool)
        self._judged = _WARM_UP  # frame up to which the net has evaluated
        self._decided = _WARM_UP  # frame up to which onsets are decided
        self._last_onset = -self._min_gap

    def feed(self, block: NDArray[np.int16] | NDArray[np.float32] | Floats) -> tuple[Mark, ...]:
        """Takes samples (16-bit, or float from -1 to 1) and returns the marks that ended."""
        scale = 32768.0 if np.issubdtype(block.dtype, np.integer) else 1.0
        self._waiting = np.concatenate((self._waiting, block.astype(np.float64) / scale))
        marks: list[Mark] = []
        while len(self._waiting) >= _CHUNK:
            self._take(self._waiting[:_CHUNK])
            self._waiting = self._waiting[_CHUNK:]
            while self._frames >= self._judged + _BLOCK + REACH:
                self._judge(self._judged + _BLOCK)
            marks += self._decide(final=False)
            self._forget()
        return tuple(marks)

    def finish(self) -> tuple[Mark, ...]:
        """Ends the stream and returns the marks that were still sounding."""
        self._take(self._waiting)
        self._waiting = np.empty(0)
        while self._judged < self._frames:
            self._judge(min(self._judged + _BLOCK, self._frames))
        return tuple(self._decide(final=True))

    @property
    def _frames(self) -> int:
        """Number of frames of the stream so far."""
        return self._first + len(self._powers)

    def _take(self, chunk: Floats) -> None:
        self._samples = np.concatenate((self._samples, chunk))
        powers = band_powers(self._samples[len(self._powers) * HOP :])
        self._powers = np.concatenate((self._powers, powers))
        self._odds = np.concatenate((self._odds, np.zeros(len(powers))))
        self._noise = np.concatenate((self._noise, np.ones(len(powers), dtype=bool)))

    def _judge(self, until: int) -> None:
        """Evaluates the net on the next frames with their context."""
        noise, usual = self._noise_before(self._judged)
        begin = max(self._judged - REACH, self._first)
        rows = self._powers[begin - self._first : until + REACH - self._first]
        evidence = self._net.evidence(features_of(rows, noise, usual, self._voice_power))
        new = slice(self._judged - self._first, until - self._first)
        self._odds[new] = np.exp(np.minimum(evidence[self._judged - begin : until - begin], 30))
        self._judged = until

    def _noise_before(self, frame: int) -> tuple[Floats, Floats]:
        until = max(frame - _LAG, _WARM_UP) - self._first
        known = np.flatnonzero(self._noise[:until])[-_MEMORY:]
        rows = known if len(known) else np.arange(until)
        return noise_of(self._powers[rows])

    def _decide(self, *, final: bool) -> list[Mark]:
        marks = []
        while (at := self._next_onset(final=final)) is not None:
            mark = self._mark(at, final=final)
            if mark is None:
                break  # still sounding
            marks += mark
        return marks

    def _next_onset(self, *, final: bool) -> int | None:
        """The next frame at which evidence for a mark accumulates; None if there is none yet."""
        low = max(self._decided - 2 * _NEAR, self._first)
        odds = self._odds[low - self._first : self._judged - self._first]
        until = self._judged if final else self._judged - _NEAR
        if until <= self._decided:
            return None
        gathered = np.convolve(odds, np.ones(2 * _GATHERED + 1), mode="same")
        plain = self._plain(until)
        least = self._least_odds_before(until)
        for frame in range(self._decided, until):
            row = frame - low
            if plain[frame - self._decided]:
                return frame
            if gathered[row] < least[frame - self._decided]:
                continue
            near = gathered[max(0, row - _NEAR) : row + _NEAR + 1]
            if gathered[row] >= near.max():
                # All frames around the best one have accumulated equal evidence.
                about = max(0, row - _GATHERED)
                best = int(np.argmax(odds[about : row + _GATHERED + 1]))
                return max(low + about + best, self._decided)
        self._decided = until
        return None

    def _plain(self, until: int) -> NDArray[np.bool_]:
        """Marks the undecided frames that are so far above the noise that they need no net."""
        rows = slice(self._decided - self._first, until - self._first)
        power = in_pairs(mean_square(self._powers[rows]))
        return power >= max(self._least_power, _PLAIN * self._usual_before(self._decided))

    def _least_odds_before(self, until: int) -> Floats:
        """Odds required at each undecided frame: lower if the sound soon gets loud."""
        rows = slice(self._decided - self._first, until + _NEAR - self._first)
        power = in_pairs(mean_square(self._powers[rows]))
        power = np.pad(power, (0, until - self._decided + _NEAR - len(power)))
        loudest = sliding_window_view(power, _NEAR + 1)[: until - self._decided].max(axis=1)
        loud = loudest >= max(self._least_power, _LOUD * self._usual_before(self._decided))
        return np.where(loud, _LEAST_ODDS_OF_LOUD, self._least_odds)

    def _usual_before(self, frame: int) -> float:
        """Usual maximum of the noise power; soft ends of words in it count little."""
        noise, usual = self._noise_before(frame)
        return float(min(mean_square(usual), _STEADY * mean_square(noise)))

    def _mark(self, frame: int, *, final: bool) -> list[Mark] | None:
        """The mark that begins around a frame; empty if there is none, None if it still sounds."""
        row = frame - self._first
        noise, seldom = self._noise_before(frame)
        power = in_pairs(mean_square(self._powers[row:]))
        longest = round(LONGEST_S / FRAME_S)
        # A tap may be over when the nets are most certain.
        early = max(row - _GATHERED, 0)
        about = in_pairs(mean_square(self._powers[early : row + _LOUD_WITHIN]))
        peak, peak_at = float(about.max()), early - row + int(np.argmax(about))
        if peak < self._least_power:
            self._decided = frame + _NEAR
            return []  # not yet: a louder part may follow
        still = power[:longest] > max(
            peak * _ENDED_BELOW, float(mean_square(noise)) * _ENDED_OVER_NOISE
        )
        still[: max(peak_at, 0)] = True  # also a soft hiss before its vowel
        end = end_of(still, _HANG)
        if end is None and len(still) < longest and not final:
            return None
        self._decided = frame + _NEAR
        if end is None and len(still) == longest:
            # The noise has changed; until it is known, nothing stands out from it.
            self._noise[:row] = False
            self._decided = frame + longest
            return []
        end = len(still) if end is None else end
        usual = self._usual_before(frame)
        plain = peak >= _PLAIN * usual
        if plain:
            # Its own loud middle is not another mark.
            self._decided = frame + max(_NEAR, end)
        if frame - self._last_onset < self._min_gap:
            return []
        begin = max(row - _NEAR, self._last_onset + _HANG - self._first, 0)
        start, seen = self._starts(begin, row, self._seen(row, peak, usual) if plain else None)
        if peak >= _ALONE * float(mean_square(seldom)):
            held = in_pairs(mean_square(self._powers[begin : start + 1])) >= _HELD_OF_PEAK * peak
            seen = min(seen, begin + unbroken_from(held))
        if start + self._first - self._last_onset < self._min_gap:
            return []  # a closer look shows that it belongs to the previous mark
        self._last_onset = start + self._first
        self._noise[min(start, seen) : row + end + _HANG] = False
        ratios = self._powers[row : row + max(end, 2)] / noise
        first, last = (each * HOP + WINDOW // 2 for each in sorted((start, seen)))
        low = max(0, first - _BEAT_BEFORE)
        sound = self._samples[low : last + _BEAT_AFTER]
        beat = beat_of(sound, (first - low, last - low), noise, seldom)
        sample = low + beat.sample
        if beat.struck:
            sample = self._refined(sample)
        end_sample = (frame + end) * HOP + WINDOW
        body = np.abs(self._samples[sample : end_sample - self._first * HOP])
        loudest = (ratios[1:] + ratios[:-1]).mean(axis=1).max() / 2
        return [
            Mark(
                sample=sample + self._first * HOP,
                end_sample=end_sample,
                snr_db=round(10 * math.log10(loudest), 1),
                level_db=round(10 * math.log10(peak), 1),
                uncertainty_s=round(beat.uncertainty_s, 4),
                clipped=bool(len(body) and np.mean(body >= _FULL_SCALE) > _CLIPPED_SHARE),
            )
        ]

    def _starts(self, begin: int, row: int, seen: int | None) -> tuple[int, int]:
        """The row where the sound begins, and a second estimate from its power.

        The nets place it at the mean of the nearby rows, weighted by their odds. A softer sound
        that continues before it misleads the power, but not the nets.
        """
        odds = self._odds[begin : row + _NEAR + 1]
        if seen is not None and odds.sum() < LEAST_ODDS:
            return seen, seen
        start = begin + round(float(np.average(np.arange(len(odds)), weights=odds)))
        return start, start if seen is None or start - seen > _BRIDGED else seen

    def _seen(self, row: int, peak: float, usual: float) -> int:
        """The row where a sound begins that is far enough above the noise to be seen entirely.

        Searches back from its loudest part, across silences of up to 0.1 s: before a t, for
        instance.
        """
        low = max(row - _LOOK_BACK, self._last_onset + _HANG - self._first, 0)
        power = mean_square(self._powers[low : row + _LOUD_WITHIN])
        loud = np.flatnonzero(power > max(_SEEN_OVER_NOISE * usual, _SEEN_OF_PEAK * peak))
        begin = int(np.argmax(power))
        for nth in loud[loud < begin][::-1]:
            if begin - nth > _BRIDGED:
                break
            begin = int(nth)
        return low + begin

    def _refined(self, middle: int) -> int:
        """The sample in the buffer at which the sound around ``middle`` begins."""
        low = max(0, middle - _REFINE)
        # Differencing whitens: hum and rumble hide the start of a word from a variance.
        part = np.diff(self._samples[low : middle + _REFINE], prepend=self._samples[low])
        return low + change_at(part)

    def _forget(self) -> None:
        extra = len(self._powers) - _KEPT
        if extra > 0:
            self._powers = self._powers[extra:]
            self._samples = self._samples[extra * HOP :]
            self._odds = self._odds[extra:]
            self._noise = self._noise[extra:]
            self._first += extra
