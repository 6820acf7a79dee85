"""The prompts that are rendered into the app, and the streams that the page makes of them."""

import shutil
import subprocess
from pathlib import Path

import numpy as np
import pytest
import soundfile

from handsfree.audio.playback import Speech
from handsfree.cli.phone import _voice_of
from handsfree.errors import VoiceError
from handsfree.language.interpreter import Language
from handsfree.language.wording import wording
from handsfree.phone.build import STATIC
from handsfree.phone.prompt_sounds import rendered
from handsfree.synthesis.voice import FakeVoice, VoiceWorker

WORDS = wording("en")
ROOM = 1_000_000
TEXTS = ["clear", "six", "Power off.", "Say again.", "Is the swing path clear?"]


def sounds_of(prompts, folder: Path):
    """The sound of each piece, as decoded from the streams that the page makes."""
    if shutil.which("node") is None:
        pytest.skip("no node here: apt-get install nodejs")
    (folder / "prompts-en.json").write_bytes(prompts.index)
    (folder / "prompts-en.bin").write_bytes(prompts.sounds)
    code = Path(__file__).with_name("ogg.mjs")
    subprocess.run(["node", code, STATIC, folder, "en", folder], check=True)
    return [soundfile.read(folder / f"{nth}.ogg") for nth, _ in enumerate(prompts.phrases)]


class Chirps:
    """A voice whose tone lasts as long and sounds as high as its text is long, after silence."""

    def __init__(self):
        self.said = []

    def speak(self, text, rate_wpm=170):
        self.said.append(text)
        time_s = np.arange(round(self.seconds(text) * 22_050)) / 22_050
        tone = 8_000 * np.sin(2 * np.pi * self.pitch_hz(text) * time_s)
        silence = np.zeros(22_050 // 2)
        return Speech(np.concatenate((silence, tone, silence)).astype(np.int16), 22_050)

    def close(self):
        pass

    @staticmethod
    def seconds(text):
        return 0.2 * len(text)

    @staticmethod
    def pitch_hz(text):
        return 300 + 50 * len(text)


def test_every_piece_decodes_to_its_own_sound_without_the_silence_around_it(tmp_path):
    voice = Chirps()
    prompts = rendered(TEXTS, voice, WORDS, ROOM)
    made = sounds_of(prompts, tmp_path)
    assert voice.said == ["clear,", "six,", *TEXTS[2:]]  # a word does not end like a sentence
    assert len(made) == len(TEXTS)
    for (sound, rate), text in zip(made, voice.said, strict=True):
        assert len(sound) / rate == pytest.approx(voice.seconds(text) + 0.05, abs=0.01)
        spectrum = np.abs(np.fft.rfft(sound))
        loudest_hz = np.argmax(spectrum) * rate / len(sound)
        assert loudest_hz == pytest.approx(voice.pitch_hz(text), abs=10)


def test_a_piece_longer_than_a_page_of_its_stream_is_whole(tmp_path):
    text = "long " * 20 + "sentence."
    voice = Chirps()
    ((sound, rate),) = sounds_of(rendered([text], voice, WORDS, ROOM), tmp_path)
    assert voice.seconds(text) > 20
    assert len(sound) / rate == pytest.approx(voice.seconds(text) + 0.05, abs=0.01)
    assert np.abs(sound[-rate:]).max() > 0.1


def test_words_come_in_any_case_and_sentences_while_there_is_room():
    whole = rendered(TEXTS, FakeVoice(), WORDS, ROOM)
    assert whole.phrases == ("clear", "six", "power off", "say again", "is the swing path clear")
    assert whole.left_out == 0
    least = rendered(TEXTS, FakeVoice(), WORDS, room_bytes=1)
    assert least.phrases == ("clear", "six") and least.left_out == 3
    assert sum(least.sizes) == len(least.sounds)
    some = rendered(TEXTS, FakeVoice(), WORDS, room_bytes=sum(whole.sizes[:4]))
    assert some.phrases == whole.phrases[:4]


def test_the_same_texts_give_the_same_bytes():
    assert rendered(TEXTS, FakeVoice(), WORDS, ROOM) == rendered(TEXTS, FakeVoice(), WORDS, ROOM)


def test_a_text_without_sound_is_a_short_silence(tmp_path):
    class Mute(FakeVoice):
        def speak(self, text, rate_wpm=170):
            return Speech(np.zeros(1000, np.int16), 22_050)

    ((sound, rate),) = sounds_of(rendered(["clear"], Mute(), WORDS, ROOM), tmp_path)
    assert 0 < len(sound) / rate < 0.1


def test_without_a_voice_the_build_says_why_and_goes_on(monkeypatch, capsys):
    def missing(self):
        raise VoiceError("no voice speaks en")

    monkeypatch.setattr(VoiceWorker, "start", missing)
    assert _voice_of(Language.load(language="en")) is None
    assert capsys.readouterr().out.startswith("no prompts in 'en': no voice speaks en")
