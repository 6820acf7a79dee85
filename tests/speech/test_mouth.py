from __future__ import annotations

from abc import ABC, abstractmethod
from pathlib import Path

import numpy as np
import pytest
import soundfile

from handsfree.errors import SoundError
from handsfree.speech import mouth as mouth_module
from handsfree.speech.mouth import LoudspeakerMouth, Mouth, SilentMouth, WavMouth, open_mouth
from handsfree.speech.player import FakePlayer
from handsfree.speech.voice import FakeVoice, VoiceWorker


class AnyMouth(ABC):
    """What holds for every mouth."""

    @abstractmethod
    @pytest.fixture
    def mouth(self) -> Mouth: ...

    def test_it_is_aloud_for_some_time_or_says_why_it_is_silent(self, mouth: Mouth) -> None:
        spoken = mouth.say("Left leaf, opening time, six point two seconds.")
        assert spoken.aloud == (spoken.seconds > 0) == (mouth.why_silent is None)
        mouth.close()


class TestSilentMouth(AnyMouth):
    @pytest.fixture
    def mouth(self) -> Mouth:
        return SilentMouth("no voice is installed")


class TestWavMouth(AnyMouth):
    @pytest.fixture
    def mouth(self, tmp_path: Path) -> Mouth:
        return WavMouth(FakeVoice(), tmp_path / "spoken.wav")


class TestRealWavMouth(AnyMouth):
    @pytest.fixture
    def mouth(self, tmp_path: Path, voice: VoiceWorker) -> Mouth:
        return WavMouth(voice, tmp_path / "spoken.wav")


class TestLoudspeakerMouth(AnyMouth):
    @pytest.fixture
    def mouth(self) -> Mouth:
        return LoudspeakerMouth(FakeVoice(), FakePlayer())


def test_the_loudspeaker_plays_what_the_voice_made() -> None:
    voice, player = FakeVoice(), FakePlayer()
    spoken = LoudspeakerMouth(voice, player).say("Pass.")
    assert voice.said == ["Pass."]
    assert player.played == [spoken.speech]


def test_the_file_is_whole_after_every_text_and_a_second_mouth_goes_on(tmp_path: Path) -> None:
    path = tmp_path / "spoken.wav"
    lengths, expected = [], 0.0
    for mouth in (WavMouth(FakeVoice(), path), WavMouth(FakeVoice(), path)):
        for text in ("Pass.", "Say again."):
            expected += mouth.say(text).seconds + 0.3
            lengths.append(soundfile.info(path).duration)
            assert lengths[-1] == pytest.approx(expected, abs=0.01)
    samples, _ = soundfile.read(path, dtype="int16")
    assert np.abs(samples[-8000:]).max() > 1000


def test_a_file_that_cannot_be_written_is_named(tmp_path: Path) -> None:
    with pytest.raises(SoundError, match="spoken side cannot be written"):
        WavMouth(FakeVoice(), tmp_path / "no folder" / "spoken.wav").say("Pass.")


def test_without_a_loudspeaker_the_mouth_is_silent_and_says_so(
    voice: VoiceWorker, monkeypatch: pytest.MonkeyPatch
) -> None:
    class NoPlayer(FakePlayer):
        def check(self) -> None:
            raise SoundError("no sound can be played", way_out="connect a loudspeaker")

    monkeypatch.setattr(mouth_module, "LoudspeakerPlayer", NoPlayer)
    assert open_mouth().why_silent == "no sound can be played (connect a loudspeaker)"


def test_with_a_file_no_loudspeaker_is_needed(tmp_path: Path, voice: VoiceWorker) -> None:
    mouth = open_mouth(tmp_path / "spoken.wav")
    assert mouth.name == "wav file"
    mouth.close()
