"""The pure parts of the hearing bench."""

import math

import numpy as np
import pytest

from handsfree.language.interpreter import Language
from tests.bench.chat import CHAT
from tests.bench.listening_material import PAUSE, ROOM_RMS, VOICE_RMS, Sample, in_noise, refusals
from tests.bench.score import wilson


@pytest.mark.parametrize(
    ("hits", "count", "low", "high"),
    [
        (81, 263, 0.2553, 0.3662),
        (15, 148, 0.0624, 0.1605),
        (0, 20, 0.0000, 0.1611),
        (1, 29, 0.0061, 0.1718),
    ],
)
def test_wilson_gives_the_published_intervals(
    hits: int, count: int, low: float, high: float
) -> None:
    """Newcombe, Statistics in Medicine 17 (1998) 857-872, table I, method 3; from memory."""
    assert wilson(hits, count) == pytest.approx((low, high), abs=5e-5)


@pytest.mark.parametrize("level_db", [20.0, 10.0, 5.0])
def test_noise_lies_the_stated_level_below_the_voice(level_db: float) -> None:
    voice = 1000 * np.sin(np.arange(32_000) * 0.2)
    noise = np.random.default_rng(3).normal(0, 500, 100_000)
    sample = Sample(voice, "yes", "a sine")

    quiet, noisy = (in_noise(sample, level, [noise]) for level in (None, level_db))

    said = slice(len(PAUSE), len(PAUSE) + len(voice))
    added = noisy.astype(float) - quiet
    measured_db = 20 * math.log10(_rms(quiet[said]) / _rms(added))
    assert measured_db == pytest.approx(level_db, abs=0.1)


def test_quiet_is_a_voice_of_one_level_in_the_noise_of_a_room() -> None:
    voice = np.where(np.arange(32_000) % 2, 700.0, -700.0)

    heard = in_noise(Sample(voice, "yes", "a square"), None, [])

    assert _rms(heard[: len(PAUSE)]) == pytest.approx(ROOM_RMS, rel=0.05)
    assert _rms(heard[len(PAUSE) : -len(PAUSE)]) == pytest.approx(VOICE_RMS, rel=0.01)


def test_draws_differ_and_are_repeated() -> None:
    noise = np.random.default_rng(3).normal(0, 500, 400_000)
    first, second = (Sample(np.ones(16_000), "no", "a step", draw) for draw in (0, 1))

    assert np.array_equal(in_noise(first, 5.0, [noise]), in_noise(first, 5.0, [noise]))
    assert not np.array_equal(in_noise(first, 5.0, [noise]), in_noise(second, 5.0, [noise]))


def test_no_chat_is_a_sentence_of_the_grammar() -> None:
    language = Language.load()

    assert [line for line in CHAT if language.parse(line) is not None] == []
    assert len(set(CHAT)) == len(CHAT) == 60


def test_every_refusal_is_parsed_as_one() -> None:
    language = Language.load()

    found = refusals(language)

    assert {"no", "negative", "wrong", "incorrect", "that is not correct"} <= set(found)
    kinds = {getattr(language.parse(text), "kind", None) for text in found}
    assert kinds == {"negative"}


def _rms(samples: np.ndarray) -> float:
    return math.sqrt(np.mean(samples.astype(float) ** 2))


def test_a_silent_piece_of_a_noise_is_passed_over():
    rng = np.random.default_rng(4)
    voice = rng.normal(0, 900, 16_000)
    noise = np.zeros(400_000)
    noise[-30_000:] = 500  # silent in most places
    for draw in range(5):
        samples = in_noise(Sample(voice, "yes", "noise", draw=draw), 10.0, [noise])
        assert not np.array_equal(samples, in_noise(Sample(voice, "yes", "noise", draw), None, []))
    with pytest.raises(ValueError, match="silent"):
        in_noise(Sample(voice, "yes", "noise"), 10.0, [np.zeros(40_000)])
