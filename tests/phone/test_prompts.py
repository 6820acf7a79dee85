"""Prompts of the app in a browser without voices: they are heard, and speaking stops them."""

import numpy as np
import pytest
import soundfile

from handsfree.audio.playback import Speech
from handsfree.data import data_folder

from .app import built, served
from .microphone import FAKE, INSTEAD, play
from .phone_browser import begin, opened, phone, say, until

pytestmark = pytest.mark.slow

LISTEN = """
const { connect } = AudioNode.prototype;
AudioNode.prototype.connect = function (to, ...more) {
  if (to instanceof AudioDestinationNode) {
    globalThis.loudspeaker ??= new AnalyserNode(to.context, { fftSize: 1024 });
    connect.call(this, globalThis.loudspeaker);
  }
  return connect.call(this, to, ...more);
};
globalThis.sounding = () => {
  const samples = new Float32Array(1024);
  globalThis.loudspeaker?.getFloatTimeDomainData(samples);
  return samples.some((sample) => Math.abs(sample) > 0.05);
};
globalThis.lastSound = performance.now();
setInterval(() => { if (sounding()) globalThis.lastSound = performance.now(); }, 20);
globalThis.spoken = 0; // seconds of sound that came to their end
globalThis.stopped = 0;
const { stop } = AudioScheduledSourceNode.prototype;
const begin = AudioBufferSourceNode.prototype.start;
AudioBufferSourceNode.prototype.start = function (...when) {
  const ended = () => { if (!this.cut) globalThis.spoken += this.buffer.duration; };
  this.addEventListener("ended", ended);
  return begin.call(this, ...when);
};
AudioScheduledSourceNode.prototype.stop = function (...when) {
  this.cut = true;
  globalThis.stopped += 1;
  return stop.call(this, ...when);
};
"""
TAKES_LONG = "help"


class Hum:
    """A voice that hums as long as a person takes for the text."""

    def speak(self, text, rate_wpm=170):
        time_s = np.arange(round(self.seconds(text) * 22_050)) / 22_050
        return Speech((10_000 * np.sin(2 * np.pi * 400 * time_s)).astype(np.int16), 22_050)

    def close(self):
        pass

    @staticmethod
    def seconds(text):
        return 0.06 * len(text)


@pytest.fixture(scope="module")
def address(tmp_path_factory):
    folder = built(tmp_path_factory.mktemp("prompts") / "app", Hum(), room_bytes=1_200_000)
    with served(folder) as where:
        yield where


@pytest.fixture
def page(address):
    with phone(*FAKE) as made:
        made.add_init_script(LISTEN)
        made.add_init_script(INSTEAD)
        page = opened(made, address)
        begin(page)
        yield page
        assert page.faults == []


def quiet(page):
    """Waits until everything has been said."""
    until(page, "performance.now() - lastSound > 2000")


def shown(page):
    return " ".join(
        page.evaluate("[...document.querySelectorAll('#said p')].map(p => p.innerText)")
    )


def listen(page, *, headset):
    if headset:
        page.click("#headset")
    page.click("#listen")
    until(page, "document.getElementById('listen').getAttribute('aria-pressed') === 'true'")


def speak(page):
    """Says 'done' into the microphone."""
    file = data_folder("audio_fixtures") / "harbour-hall.flac"
    play(page, soundfile.read(file, dtype="int16", stop=16_000 * 3)[0])


def test_a_browser_without_voices_plays_the_prompts_and_says_so(page):
    assert page.evaluate("speechSynthesis.getVoices().length") == 0
    assert "the app's own" in page.inner_text("#voice")
    until(page, "sounding()")
    quiet(page)
    spoken = Hum.seconds(shown(page))
    assert page.evaluate("spoken") > 0.7 * spoken
    assert page.evaluate("stopped") == 0


def speaks_over(page, *, headset: bool) -> int:
    """Speaks while a long prompt sounds; returns how many prompts had been stopped before."""
    quiet(page)
    listen(page, headset=headset)
    say(page, TAKES_LONG)
    until(page, "sounding()")
    before = int(page.evaluate("stopped"))
    speak(page)
    return before


def test_speaking_over_a_headset_stops_a_prompt(page):
    before = speaks_over(page, headset=True)
    until(page, f"stopped > {before}")
    until(page, "document.getElementById('heard').textContent === 'heard: done'")


def test_without_a_headset_a_prompt_is_spoken_to_its_end(page):
    before = speaks_over(page, headset=False)
    until(page, "played + 512 > 16_000 * 3")
    quiet(page)
    assert page.evaluate("stopped") == before
    assert page.inner_text("#heard") == f"heard: {TAKES_LONG}"


def test_a_caution_is_spoken_to_its_end_over_a_headset(page):
    quiet(page)
    listen(page, headset=True)
    say(page, "done")
    until(page, "sounding()")
    before = page.evaluate("stopped")
    speak(page)
    until(page, "played + 512 > 16_000 * 3")
    quiet(page)
    assert page.evaluate("stopped") == before


def test_speak_turns_the_voice_off(page):
    quiet(page)
    say(page, TAKES_LONG)
    quiet(page)
    before = page.evaluate("spoken")
    page.click("#speak")
    say(page, TAKES_LONG)
    quiet(page)
    assert page.evaluate("spoken") == before
