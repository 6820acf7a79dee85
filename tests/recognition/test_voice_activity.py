from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from handsfree.audio.sound_files import read_sound
from handsfree.recognition.voice_activity import CHUNK, Segment, Segmenter, VoiceActivitySettings
from tests.speech_fixtures import Recording, Synthesize

SECOND = 16_000


class LoudIsVoice:
    """Takes any loud chunk for a voice, so that a test can construct one."""

    def process_chunk(self, audio: bytes) -> float:
        return float(np.abs(np.frombuffer(audio, np.int16)).max() > 1000)


def sound(*parts: tuple[str, float]) -> NDArray[np.int16]:
    """('quiet', 1.0), ('voice', 0.5), ... in seconds."""
    level = {"quiet": 10, "voice": 5000}
    return np.concatenate(
        [np.full(round(seconds * SECOND), level[kind], np.int16) for kind, seconds in parts]
    )


def cut(
    stream: NDArray[np.int16], settings: VoiceActivitySettings, block: int = 1600
) -> list[Segment]:
    segmenter = Segmenter(settings, LoudIsVoice())
    segments = [
        segment
        for start in range(0, len(stream), block)
        for segment in segmenter.feed(stream[start : start + block])
    ]
    last = segmenter.flush()
    return segments if last is None else [*segments, last]


def test_an_utterance_has_its_pre_roll_and_ends_after_the_endpoint() -> None:
    stream = sound(("quiet", 2), ("voice", 1), ("quiet", 2))
    (only,) = cut(stream, VoiceActivitySettings(pre_roll_s=0.5, endpoint_s=0.35))
    assert only.start_sample / SECOND == pytest.approx(1.5, abs=0.04)
    assert only.end_sample / SECOND == pytest.approx(3.35, abs=0.04)
    assert np.array_equal(only.samples, stream[only.start_sample : only.end_sample])


def test_a_breath_does_not_part_an_utterance_and_a_click_begins_none() -> None:
    stream = sound(
        ("quiet", 1), ("voice", 0.4), ("quiet", 0.25), ("voice", 0.4), ("quiet", 1),
        ("voice", 0.03), ("quiet", 1),
    )  # fmt: skip
    assert len(cut(stream, VoiceActivitySettings())) == 1


def test_a_voice_that_never_stops_is_cut() -> None:
    stream = sound(("voice", 7))
    assert [
        round(len(s.samples) / SECOND, 1) for s in cut(stream, VoiceActivitySettings(longest_s=3))
    ] == [
        3.0,
        3.0,
        1.0,
    ]


def test_the_end_of_the_stream_ends_the_utterance_with_its_last_sample() -> None:
    stream = sound(("quiet", 1), ("voice", 1))[:-7]
    (only,) = cut(stream, VoiceActivitySettings())
    assert only.end_sample == len(stream)


SPELLS = st.lists(
    st.tuples(st.sampled_from(["quiet", "voice"]), st.floats(0.01, 1.5)), min_size=1, max_size=8
)


@pytest.mark.slow
@given(spells=SPELLS, block=st.integers(1, 5000))
def test_blocks_of_any_size_give_the_same_segments_in_order(
    spells: list[tuple[str, float]], block: int
) -> None:
    stream = sound(*spells)
    whole = cut(stream, VoiceActivitySettings(), len(stream))
    parts = cut(stream, VoiceActivitySettings(), block)
    assert [s.start_sample for s in parts] == [s.start_sample for s in whole]
    for segment in parts:
        assert np.array_equal(segment.samples, stream[segment.start_sample : segment.end_sample])
    assert all(a.end_sample <= b.start_sample for a, b in pairwise(parts))


@pytest.mark.slow
def test_the_real_detector_finds_what_a_synthetic_voice_says(synthesize: Synthesize) -> None:
    rng = np.random.default_rng(5)
    gap = np.zeros(2 * SECOND, np.int16)
    said = [synthesize(text) for text in ("affirm", "closing time four point two", "negative")]
    quiet = np.concatenate([part for one in said for part in (gap, one)] + [gap])
    stream = (quiet + rng.normal(0, 20, len(quiet))).astype(np.int16)
    segmenter = Segmenter()
    found = [
        s for at in range(0, len(stream), CHUNK) for s in segmenter.feed(stream[at : at + CHUNK])
    ]
    assert len(found) == 3


@pytest.mark.slow
def test_real_people_are_found_whole_in_a_noisy_room(people: list[Recording]) -> None:
    rng = np.random.default_rng(2)
    spoken = [r for r in people if r.kind == "numbers"][::4]
    (room,) = (r for r in people if r.kind == "noise" and "coffee" in r.path.name)
    parts, spans, position = [], [], 0
    for recording in spoken:
        voice = read_sound(recording.path).astype(float)
        voice *= 6000 / np.abs(voice).max()
        gap = np.zeros(rng.integers(SECOND, 2 * SECOND))
        parts += [gap, voice]
        # The clips have up to 0.3 s around the voice.
        spans.append(
            (position + len(gap) + 0.3 * SECOND, position + len(gap) + len(voice) - 0.3 * SECOND)
        )
        position += len(gap) + len(voice)
    clean = np.concatenate([*parts, np.zeros(SECOND)])
    noise = np.resize(read_sound(room.path), len(clean)).astype(float)
    level = np.sqrt(np.mean(clean[clean != 0] ** 2) / np.mean(noise**2) / 100)  # 20 dB
    stream = (clean + level * noise).astype(np.int16)

    segmenter = Segmenter()
    found = [*segmenter.feed(stream), *filter(None, [segmenter.flush()])]

    whole = [
        span
        for span in spans
        if sum(s.start_sample <= span[0] and s.end_sample >= span[1] for s in found) == 1
    ]
    # A string of digits said with a long pause in it is parted, and may be.
    assert len(whole) >= 0.85 * len(spans)
