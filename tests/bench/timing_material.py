"""Marks with known beats: people's words, synthetic words and taps, in noise."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.signal import butter, sosfilt, sosfiltfilt

from handsfree.sample_rate import SAMPLE_RATE_HZ
from handsfree.timing.p_center import AHEAD_S, BRIDGED_S, RISE_DB, WITHIN_S
from tests.bench.listening_material import ROOM_RMS, VOICE_RMS, Sound

MARKS = 6
BLOCK = 80  # samples: 5 ms
GAP_S = (1.5, 4.0)
LEAD_S = 3.0
START_BELOW_DB = 30.0
CLEAN_DB = 10.0
"""A recording is used if its own noise is this far below the level that defines the start (dB)."""
BRIDGED = 20  # blocks: 0.1 s of silence within a word, before a t for instance

_RUMBLE = butter(4, 100, "high", fs=SAMPLE_RATE_HZ, output="sos")


# The beat as in handsfree.timing.p_center, computed independently: a filter instead of frames.
_VOWELS = butter(3, (400, 2000), "band", fs=SAMPLE_RATE_HZ, output="sos")
_EVEN = np.hanning(386)[1:-1] / np.hanning(386).sum()  # 24 ms


@dataclass(frozen=True)
class KnownMark:
    """A sound, the samples of its start and its beat, and its RMS, which sets its level."""

    sound: Sound
    start: int
    beat: int
    rms: float


def word_mark(recording: Sound) -> KnownMark | None:
    """Cuts one word out of its recording; None if the recording is not clean enough.

    The word starts where its power (over 1 ms, above 100 Hz) first comes within START_BELOW_DB of
    its loudest 5 ms, bridging silences up to 0.1 s before that.
    """
    sound = sosfilt(_RUMBLE, recording)
    blocks = len(sound) // BLOCK
    power = (sound[: blocks * BLOCK].reshape(blocks, BLOCK) ** 2).mean(axis=1) + 1e-6
    least = power.max() * 10 ** (-START_BELOW_DB / 10)
    if 10 * math.log10(least / np.quantile(power, 0.1)) < CLEAN_DB:
        return None
    loud = np.flatnonzero(power > least)
    peak = int(np.argmax(power))
    first = last = peak
    for block in loud[loud < peak][::-1]:
        first = int(block) if first - block <= BRIDGED else first
    for block in loud[loud > peak]:
        last = int(block) if block - last <= BRIDGED else last
    if first < 6:
        return None  # the recording was cut into the word
    cut = _cut(sound, first, last, least, 400)
    return KnownMark(cut, 160, beat_in(cut, 160), float(np.sqrt(np.mean(cut[160:] ** 2))))


def phrase_mark(recording: Sound) -> KnownMark:
    """Makes words in one breath ('left go') by a synthetic voice, from the first of them to the
    end.

    They start as in ``word_mark``; silences of any length between the words are part of the phrase.
    Its level is that of everything within 20 dB of its maximum.
    """
    sound = sosfilt(_RUMBLE, np.concatenate((np.zeros(1600), recording)))
    blocks = len(sound) // BLOCK
    power = (sound[: blocks * BLOCK].reshape(blocks, BLOCK) ** 2).mean(axis=1)
    least = power.max() * 10 ** (-START_BELOW_DB / 10)
    loud = np.flatnonzero(power > least)
    cut = _cut(sound, int(loud[0]), int(loud[-1]), least, 1600)
    rms = float(np.sqrt(np.mean(power[power > power.max() / 100])))
    return KnownMark(cut, 160, beat_in(cut, 160), rms)


def _cut(sound: Sound, first: int, last: int, least: float, tail: int) -> Sound:
    """Cuts from 160 samples before the start, which lies in the first block, to some after the
    last.
    """
    low = (first - 1) * BLOCK
    fine = (sound[low : low + 2 * BLOCK].reshape(-1, 16) ** 2).mean(axis=1)
    start = low + 16 * int(np.argmax(fine > least))
    cut = sound[start - 160 : min(len(sound), (last + 1) * BLOCK + tail)].copy()
    cut[:160] *= np.linspace(0, 1, 160) ** 2
    cut[-400:] *= np.linspace(1, 0, 400)
    return cut


def beat_in(sound: Sound, start: int) -> int:
    """Returns the sample of the beat: the mean of where the vowel power reaches each level."""
    padded = np.concatenate((np.zeros(1600), sound, np.zeros(1600)))
    power = np.convolve(sosfiltfilt(_VOWELS, padded) ** 2, _EVEN, "same")
    low = 1600 + max(0, start - 160)
    power = power[low : 1600 + start + round(AHEAD_S * SAMPLE_RATE_HZ)]
    vowel = int(np.flatnonzero(power >= power.max() * 10 ** (-RISE_DB[1] / 10))[0])
    power = power[: max(vowel, 1600 + start - low) + round(WITHIN_S * SAMPLE_RATE_HZ)]
    peak = int(np.argmax(power))
    risen = []
    for below_db in range(RISE_DB[0], RISE_DB[1] + 1):
        first = peak
        for at in np.flatnonzero(power[:peak] >= power[peak] * 10 ** (-below_db / 10))[::-1]:
            if first - at > BRIDGED_S * SAMPLE_RATE_HZ:
                break
            first = int(at)
        risen.append(first)
    return round(float(np.mean(risen))) + low - 1600


def tap_mark(rng: np.random.Generator) -> KnownMark:
    """Makes the sound of a tool on a frame: four decaying tones. The first 20 ms set its level."""
    at_s = np.arange(round(0.15 * SAMPLE_RATE_HZ)) / SAMPLE_RATE_HZ
    sound = np.zeros(len(at_s))
    for _ in range(4):
        tone = np.sin(2 * np.pi * rng.uniform(700, 5500) * at_s + rng.uniform(0, 2 * np.pi))
        sound += rng.uniform(0.3, 1) * tone * np.exp(-at_s / rng.uniform(0.004, 0.03))
    return KnownMark(sound, 0, 0, float(np.sqrt(np.mean(sound[:320] ** 2))))


def stream(
    marks: Sequence[KnownMark], level_db: float | None, noise: Sound, rng: np.random.Generator
) -> tuple[Sound, list[int]]:
    """Puts the marks one after another into a noise at that level, and returns where each has its
    beat.
    """
    gaps = rng.uniform(*GAP_S, len(marks))
    length = round((LEAD_S + gaps.sum() + 1.0) * SAMPLE_RATE_HZ) + sum(len(m.sound) for m in marks)
    sound = rng.normal(0, ROOM_RMS, length)
    if level_db is not None:
        sound += scaled(np.resize(np.roll(noise, -int(rng.integers(len(noise)))), length), level_db)
    beats = []
    at = round(LEAD_S * SAMPLE_RATE_HZ)
    for mark, gap in zip(marks, gaps, strict=True):
        begin = at - mark.start
        sound[begin : begin + len(mark.sound)] += mark.sound * VOICE_RMS / mark.rms
        beats.append(begin + mark.beat)
        at += len(mark.sound) + round(gap * SAMPLE_RATE_HZ)
    return np.clip(np.rint(sound), -32768, 32767), beats


def noise_alone(noise: Sound, level_db: float, rng: np.random.Generator) -> Sound:
    """Returns a whole noise at the level that it has in the streams, without marks."""
    return scaled(noise, level_db) + rng.normal(0, ROOM_RMS, len(noise))


def scaled(noise: Sound, level_db: float) -> Sound:
    """Scales the noise to that level below the marks."""
    rms = math.sqrt(np.mean(noise**2))
    return noise * (VOICE_RMS * 10 ** (-level_db / 20) / rms)
