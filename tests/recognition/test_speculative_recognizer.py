"""Early recognition before the end of an utterance, and when it counts."""

from __future__ import annotations

import threading

import numpy as np
import pytest

from handsfree.audio.capture import FakeCapture
from handsfree.recognition.microphone_ears import MicrophoneEars
from handsfree.recognition.port import Utterance
from handsfree.recognition.recognizer import Recognized, Samples, VoskRecognizer
from handsfree.recognition.speculative_recognizer import SpeculativeRecognizer
from tests.speech_fixtures import Synthesize


class Lengths:
    """Recognizes the length of the sound, and records the thread of each call."""

    def __init__(self) -> None:
        self.asked: list[tuple[int, bool]] = []

    def recognize(self, samples: Samples) -> Recognized:
        ahead = threading.current_thread() is not threading.main_thread()
        self.asked.append((len(samples), ahead))
        return Recognized(text=str(len(samples)))


SOUND = np.arange(1000, dtype=np.int16)


def test_what_was_begun_counts_for_an_utterance_that_ends_there() -> None:
    recognizer = Lengths()
    ahead = SpeculativeRecognizer(recognizer)
    ahead.begin(SOUND[:800])
    assert ahead.busy
    assert ahead.recognize(SOUND).text == "800"
    assert not ahead.busy
    assert recognizer.asked == [(800, True)]


def test_what_was_forgotten_or_began_otherwise_is_recognized_anew() -> None:
    ahead = SpeculativeRecognizer(Lengths())
    ahead.begin(SOUND[:800])
    ahead.forget()
    assert ahead.recognize(SOUND).text == "1000"
    ahead.begin(SOUND[100:800])
    assert ahead.recognize(SOUND).text == "1000"
    assert ahead.recognize(SOUND[:5]).text == "5"


@pytest.mark.slow
def test_a_breath_in_mid_sentence_ends_nothing_and_the_whole_sentence_is_heard(
    synthesize: Synthesize, recognizer: VoskRecognizer
) -> None:
    rng = np.random.default_rng(4)

    def quiet(seconds: float) -> Samples:
        return np.zeros(round(seconds * 16_000), np.int16)

    first, second = synthesize("closing time"), synthesize("four point two")
    # The synthetic voice has 0.2 s of silence of its own around a text.
    stream = np.concatenate((quiet(1), first[:-1600], quiet(0.05), second[1600:], quiet(1.5)))
    noisy = (stream + rng.normal(0, 12, len(stream))).astype(np.int16)
    asked: list[int] = []

    class Counting:
        def recognize(self, samples: Samples) -> Recognized:
            asked.append(len(samples))
            return recognizer.recognize(samples)

    ears = MicrophoneEars(FakeCapture(noisy), Counting())
    heard = ears.listen()
    assert isinstance(heard, Utterance)
    assert heard.text == "closing time four point two"
    assert heard.samples is not None and asked[-1] < len(heard.samples)
