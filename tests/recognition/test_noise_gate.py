"""The gate before the voice detector: what it passes, and its effect on utterances."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from handsfree.recognition.noise_gate import NoiseGate
from handsfree.recognition.voice_activity import CHUNK, Segment, Segmenter
from handsfree.recognition.voice_net import voice_net
from tests.speech_fixtures import Synthesize

SECOND = 16_000
CHUNKS_A_SECOND = SECOND / CHUNK


class Counting:
    """Scores everything 1, and records what it was asked about."""

    def __init__(self) -> None:
        self.seen: list[bytes] = []

    def process_chunk(self, audio: bytes) -> float:
        self.seen.append(audio)
        return 1.0


def noise(seconds: float, rms: float, seed: int = 1) -> NDArray[np.int16]:
    rng = np.random.default_rng(seed)
    return np.rint(rng.normal(0, rms, round(seconds * SECOND))).astype(np.int16)


def through(gate: NoiseGate, stream: NDArray[np.int16]) -> list[float]:
    return [
        gate.process_chunk(stream[at : at + CHUNK].tobytes())
        for at in range(0, len(stream) // CHUNK * CHUNK, CHUNK)
    ]


@pytest.mark.parametrize("rms", [0.0, 1.0, 12.0, 400.0])
def test_noise_that_stays_as_it_is_is_not_looked_at(rms: float) -> None:
    detector = Counting()
    gate = NoiseGate(detector)
    through(gate, noise(2, rms))
    before = len(detector.seen)
    assert through(gate, noise(10, rms, seed=2)) == [0.0] * round(10 * CHUNKS_A_SECOND - 0.5)
    assert len(detector.seen) == before


def test_a_steady_offset_is_no_sound() -> None:
    detector = Counting()
    gate = NoiseGate(detector)
    through(gate, noise(2, 5) + np.int16(900))
    assert gate.floor_db == pytest.approx(20 * np.log10(5 / 32768), abs=1.5)


def test_before_the_floor_is_known_everything_is_looked_at() -> None:
    gate = NoiseGate(Counting())
    assert gate.floor_db is None
    assert through(gate, noise(0.4, 12)) == [1.0] * 12


def test_what_rises_above_the_noise_is_looked_at_with_the_chunks_before_it_in_their_order() -> None:
    detector = Counting()
    gate = NoiseGate(detector)
    stream = np.concatenate((noise(3, 12), noise(0.3, 60, seed=3)))
    said = through(gate, stream)
    assert said[-9:] == [1.0] * 9
    assert b"".join(detector.seen).endswith(stream[: len(said) * CHUNK][-17 * CHUNK :].tobytes())


def test_a_room_that_gets_louder_is_looked_at_until_its_floor_is_known() -> None:
    gate = NoiseGate(Counting())
    through(gate, noise(5, 12))
    said = through(gate, noise(10, 120, seed=4))
    assert said[0] == 1.0
    assert set(said[round(6 * CHUNKS_A_SECOND) :]) == {0.0}
    assert gate.floor_db == pytest.approx(20 * np.log10(120 / 32768), abs=1.5)


def test_a_long_sentence_stays_open_and_its_floor_is_that_of_the_room() -> None:
    gate = NoiseGate(Counting())
    through(gate, noise(4, 12))
    syllables = [part for n in range(16) for part in (noise(0.25, 900, n), noise(0.15, 12, n))]
    assert set(through(gate, np.concatenate(syllables))) == {1.0}


@pytest.mark.slow
def test_utterances_are_those_of_the_detector_alone(synthesize: Synthesize) -> None:
    gap = np.zeros(2 * SECOND, np.int16)
    said = [synthesize(text) for text in ("affirm", "six point two", "negative", "say again")]
    quiet = np.concatenate([part for one in said for part in (gap, one)] + [gap])
    stream = (quiet + noise(len(quiet) / SECOND, 30)).astype(np.int16)
    alone = _segments(Segmenter(None, voice_net()), stream)
    gated = _segments(Segmenter(None, NoiseGate(voice_net())), stream)
    assert len(gated) == len(alone) == 4
    for one, other in zip(gated, alone, strict=True):
        assert one.start_sample == pytest.approx(other.start_sample, abs=3 * CHUNK)
        assert one.end_sample == pytest.approx(other.end_sample, abs=3 * CHUNK)


def _segments(segmenter: Segmenter, stream: NDArray[np.int16]) -> list[Segment]:
    return [
        segment
        for at in range(0, len(stream), CHUNK)
        for segment in segmenter.feed(stream[at : at + CHUNK])
    ]
