from __future__ import annotations

from abc import ABC, abstractmethod
from pathlib import Path

import numpy as np
import pytest
import soundfile
from numpy.typing import NDArray

from handsfree.audio.playback import FakePlayer
from handsfree.errors import SoundError
from handsfree.synthesis.mouth import LoudspeakerMouth, SilentMouth, WavMouth, open_mouth
from handsfree.synthesis.port import Mouth, Spoken
from handsfree.synthesis.voice import FakeVoice, VoiceWorker
from handsfree.synthesis.voice_settings import VoiceChange


class AnyMouth(ABC):
    """Tests for every mouth."""

    @abstractmethod
    @pytest.fixture
    def mouth(self) -> Mouth: ...

    def test_it_is_aloud_for_some_time_or_says_why_it_is_silent(self, mouth: Mouth) -> None:
        spoken = mouth.say("Left leaf, opening time, six point two seconds.")
        assert spoken.aloud == (spoken.seconds > 0) == (mouth.why_silent is None)
        mouth.close()

    def test_a_tone_is_given_like_a_text(self, mouth: Mouth) -> None:
        given = mouth.signal("warning")
        assert given.aloud == (given.seconds > 0.3) == (mouth.why_silent is None)
        mouth.close()


class SoundingMouth(AnyMouth):
    """Tests for every mouth with a voice."""

    TEXT = "Left leaf, opening time, six point two seconds."

    @pytest.mark.parametrize(
        ("change", "back"),
        [("slower", "faster"), ("faster", "slower"), ("louder", "softer"), ("softer", "louder")],
    )
    def test_a_change_is_heard_and_taken_back(
        self, mouth: Mouth, change: VoiceChange, back: VoiceChange
    ) -> None:
        usual = mouth.say(self.TEXT)
        assert mouth.adjust(change)
        changed = mouth.say(self.TEXT)
        length, level = changed.seconds / usual.seconds, rms(changed) / rms(usual)
        match change:
            case "slower":
                assert length > 1.1
            case "faster":
                assert length < 0.93
            case "louder":
                assert length == 1.0
                assert 1.5 < level < 10 ** (5 / 20) + 0.01  # 5 dB, less where peaks are held
            case "softer":
                assert length == 1.0
                assert level == pytest.approx(10 ** (-5 / 20), rel=0.01)
        assert mouth.adjust(back)
        assert np.array_equal(samples_of(mouth.say(self.TEXT)), samples_of(usual))
        mouth.close()

    def test_at_its_loudest_it_is_far_louder_and_does_not_clip(self, mouth: Mouth) -> None:
        usual = mouth.say(self.TEXT)
        assert [mouth.adjust("louder") for _ in range(3)] == [True, True, False]
        loudest = mouth.say(self.TEXT)
        assert rms(loudest) > 2 * rms(usual)
        assert np.abs(samples_of(loudest).astype(int)).max() < 32_767
        mouth.close()

    def test_the_tones_get_softer_with_the_voice(self, mouth: Mouth) -> None:
        usual = mouth.signal("warning")
        mouth.adjust("softer")
        softer = mouth.signal("warning")
        assert rms(softer) == pytest.approx(10 ** (-5 / 20) * rms(usual), rel=0.01)
        assert softer.seconds == usual.seconds
        mouth.close()


def samples_of(spoken: Spoken) -> NDArray[np.int16]:
    assert spoken.speech is not None
    return spoken.speech.samples


def rms(spoken: Spoken) -> float:
    return float(np.sqrt(np.mean(samples_of(spoken).astype(float) ** 2)))


class TestSilentMouth(AnyMouth):
    @pytest.fixture
    def mouth(self) -> Mouth:
        return SilentMouth("no voice is installed")


class TestWavMouth(SoundingMouth):
    @pytest.fixture
    def mouth(self, tmp_path: Path) -> Mouth:
        return WavMouth(FakeVoice(), tmp_path / "spoken.wav")


class TestRealWavMouth(SoundingMouth):
    @pytest.fixture
    def mouth(self, tmp_path: Path, voice: VoiceWorker) -> Mouth:
        return WavMouth(voice, tmp_path / "spoken.wav")


class TestLoudspeakerMouth(SoundingMouth):
    @pytest.fixture
    def mouth(self) -> Mouth:
        return LoudspeakerMouth(FakeVoice(), FakePlayer())


def test_a_silent_mouth_has_no_bound() -> None:
    mouth = SilentMouth("no voice is installed")
    assert all(mouth.adjust("slower") for _ in range(20))


def test_a_mouth_starts_as_the_settings_say() -> None:
    usual = LoudspeakerMouth(FakeVoice(), FakePlayer()).say("Pass.")
    mouth = LoudspeakerMouth(FakeVoice(), FakePlayer(), voice_rate=100, volume=0)
    assert mouth.say("Pass.").seconds == pytest.approx(1.7 * usual.seconds, rel=0.01)
    assert not mouth.adjust("slower") and not mouth.adjust("softer")


def test_a_tone_before_the_first_text_does_not_change_how_fast_the_text_is(
    tmp_path: Path,
) -> None:
    class LowVoice(FakeVoice):
        RATE = 11_025

    path = tmp_path / "spoken.wav"
    mouth = WavMouth(LowVoice(), path)
    given = [mouth.signal("heard"), mouth.say("one two three four five")]
    expected = sum(spoken.seconds + 0.3 for spoken in given)
    assert soundfile.info(path).duration == pytest.approx(expected, abs=0.01)
    samples, rate = soundfile.read(path)
    text = samples[round(0.5 * rate) : round(0.8 * rate)]
    assert np.abs(np.fft.rfft(text)).argmax() / 0.3 == pytest.approx(440, abs=4)


def test_the_loudspeaker_plays_what_the_voice_made() -> None:
    voice, player = FakeVoice(), FakePlayer()
    spoken = LoudspeakerMouth(voice, player).say("Pass.")
    tone = LoudspeakerMouth(voice, player).signal("accepted")
    assert voice.said == ["Pass."]
    assert player.played == [spoken.speech, tone.speech]


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
    with pytest.raises(SoundError, match="sound file of the prompts cannot be written"):
        WavMouth(FakeVoice(), tmp_path / "no folder" / "spoken.wav").say("Pass.")


def test_without_a_loudspeaker_the_mouth_is_silent_and_says_so(voice: VoiceWorker) -> None:
    mouth = open_mouth(loudspeaker="no such device")
    assert isinstance(mouth, SilentMouth)
    assert mouth.why_silent is not None
    assert mouth.why_silent.startswith("there is no loudspeaker")


def test_a_patient_mouth_tries_the_loudspeaker_again_at_every_text(voice: VoiceWorker) -> None:
    mouth = open_mouth(loudspeaker="no such device", patient=True)
    assert mouth.why_silent is not None
    for _ in range(2):
        with pytest.raises(SoundError, match="there is no loudspeaker"):
            mouth.say("Pass.")
    mouth.close()


class Listening:
    """Counts the mouth's calls, and interrupts at the nth one."""

    def __init__(self, nth: int) -> None:
        self.told: list[str] = []
        self._left = nth

    def mouth_begins(self) -> None:
        self.told.append("begins")

    def interrupts(self) -> bool:
        self._left -= 1
        return self._left == 0

    def mouth_ended(self) -> None:
        self.told.append("ended")


def test_whoever_speaks_into_it_cuts_a_text_short_but_not_one_that_is_to_be_heard_whole() -> None:
    listener = Listening(1)
    mouth = LoudspeakerMouth(FakeVoice(), FakePlayer(), listener=listener)
    assert not mouth.say("Caution.", whole=True).cut
    spoken = mouth.say("Opening time?")
    assert spoken.cut
    assert spoken.seconds == 0.0
    assert listener.told == ["begins", "ended"] * 2


def test_with_a_file_no_loudspeaker_is_needed(tmp_path: Path, voice: VoiceWorker) -> None:
    mouth = open_mouth(tmp_path / "spoken.wav")
    assert mouth.name == "wav file"
    mouth.close()
