from __future__ import annotations

import io
from abc import ABC, abstractmethod
from pathlib import Path

import numpy as np
import pytest

from handsfree.audio.sound_files import write_sound
from handsfree.errors import SoundError
from handsfree.recognition.ears import FakeEars, RecordedEars, TypedEars
from handsfree.recognition.port import Ears, Utterance
from handsfree.recognition.recognizer import FakeRecognizer, VoskRecognizer
from tests.speech_fixtures import Synthesize

SAID = ("affirm", "closing time four point two", "stand by")
GAP_S = 1.5


@pytest.fixture
def recording(tmp_path: Path, synthesize: Synthesize) -> Path:
    """SAID, with a quiet room before, between and after."""
    gap = np.zeros(round(GAP_S * 16_000), np.int16)
    parts = [part for text in SAID for part in (gap, synthesize(text))] + [gap]
    quiet = np.random.default_rng(4).normal(0, 20, sum(map(len, parts)))
    write_sound(tmp_path / "visit.flac", (np.concatenate(parts) + quiet).astype(np.int16))
    return tmp_path / "visit.flac"


class AnyEars(ABC):
    """Tests for all ears, given a source of SAID."""

    @abstractmethod
    @pytest.fixture
    def ears(self) -> Ears: ...

    @pytest.mark.slow
    def test_they_give_each_utterance_once_and_then_none(self, ears: Ears) -> None:
        heard = [utterance.text for utterance in iter(ears.listen, None)]
        assert tuple(heard) == SAID
        assert ears.listen() is None


class TestFakeEars(AnyEars):
    @pytest.fixture
    def ears(self) -> Ears:
        return FakeEars([Utterance(text) for text in SAID])


class TestTypedEars(AnyEars):
    @pytest.fixture
    def ears(self) -> Ears:
        return TypedEars(io.StringIO("affirm\n\n closing  time four point two \nstand by"))


class TestRecordedEars(AnyEars):
    @pytest.fixture
    def ears(self, recording: Path, recognizer: VoskRecognizer) -> Ears:
        return RecordedEars(recording, recognizer)

    @pytest.mark.slow
    def test_times_are_on_the_clock_of_the_recording(self, ears: Ears) -> None:
        first = ears.listen()
        assert first is not None and first.samples is not None
        assert first.start_s is not None and first.end_s is not None
        assert first.end_s - first.start_s == pytest.approx(len(first.samples) / 16_000, abs=0.002)
        assert first.start_s < GAP_S < first.end_s
        # Word starts have a scatter of 66 ms in this model.
        assert first.words[0].start_s == pytest.approx(GAP_S, abs=0.3)

    @pytest.mark.slow
    def test_a_recording_taken_up_later_gives_the_same_utterances(
        self, ears: Ears, recording: Path, recognizer: VoskRecognizer
    ) -> None:
        heard = list(iter(ears.listen, None))
        for nth, before in enumerate(heard[:-1]):
            # The journal keeps hundredths of a second.
            resumed = RecordedEars(recording, recognizer, start_s=float(f"{before.end_s:.2f}"))
            again = list(iter(resumed.listen, None))
            assert [(u.text, u.start_s, u.end_s, u.words) for u in again] == [
                (u.text, u.start_s, u.end_s, u.words) for u in heard[nth + 1 :]
            ]


def test_a_recording_that_cannot_be_read_is_named_before_the_first_utterance(
    tmp_path: Path,
) -> None:
    with pytest.raises(SoundError, match="no such sound file"):
        RecordedEars(tmp_path / "none.flac", FakeRecognizer([]))
