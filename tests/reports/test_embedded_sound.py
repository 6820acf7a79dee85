"""Clips for a page: small, louder, and still intelligible."""

from __future__ import annotations

import io

import numpy as np
import pytest
import soundfile
import soxr

from handsfree.data import data_folder
from handsfree.journal.clip_files import store_clip
from handsfree.reports.embedded_sound import GRADES, InlineSound, LinkedSound, NoSound, small


@pytest.fixture(scope="module")
def speech() -> np.ndarray:
    samples, _ = soundfile.read(
        data_folder("audio_fixtures") / "harbour-hall.flac", frames=16000 * 20, dtype="int16"
    )
    return samples


@pytest.mark.parametrize("grade", GRADES)
def test_a_small_clip_is_the_same_sound_in_less_room(speech, grade):
    content = small(speech, grade)
    assert len(content) < 20 * grade.bytes_a_second * 1.6
    again, rate = soundfile.read(io.BytesIO(content), dtype="float64")
    assert rate == grade.rate
    was = soxr.resample(speech.astype(np.float64), 16000, rate)
    count = min(len(was), len(again))
    # What is left of the voice beside the noise of rounding: its correlation with the clip.
    assert np.corrcoef(was[:count], again[:count])[0, 1] > (0.95 if grade.steps > 2 else 0.85)
    assert np.max(np.abs(again)) > 0.5


def test_finer_grades_take_more_room(speech):
    sizes = [len(small(speech, grade)) for grade in GRADES]
    assert sizes == sorted(sizes, reverse=True)


def test_the_finest_grade_that_fits_is_taken(tmp_path, speech):
    name, _ = store_clip(tmp_path, 1, speech)
    roomy = InlineSound(tmp_path)
    roomy.prepare([name, name])
    assert roomy.grade == GRADES[0]
    tight = InlineSound(tmp_path, room=20 * 3000)
    tight.prepare([name])
    assert tight.grade == GRADES[2]
    none = InlineSound(tmp_path, room=10)
    none.prepare([name])
    assert none.grade == GRADES[-1] and none.address(name) is None


@pytest.mark.parametrize("samples", [np.zeros(1600), np.full(5, 30000), np.full(1600, -32768)])
def test_silence_a_click_and_the_loudest_sound_there_is_can_be_made_small(samples):
    for grade in GRADES:
        again, _ = soundfile.read(io.BytesIO(small(samples.astype(np.int16), grade)))
        assert np.all(np.isfinite(again))


def test_linked_sound_names_files_that_are_there_and_no_others(tmp_path, speech):
    name, _ = store_clip(tmp_path, 7, speech[:8000])
    linked = LinkedSound(tmp_path, "/sound/a%20visit/")
    assert linked.address(name) == "/sound/a%20visit/000007.flac"
    assert linked.address("../clips/000007.flac") == "/sound/a%20visit/000007.flac"
    assert linked.address("000008.flac") is None
    assert len(linked.samples(name)) == 8000
    assert NoSound().address(name) is None
