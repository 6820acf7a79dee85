"""What is recognised ahead of the end of an utterance, and when that counts."""

from __future__ import annotations

import threading

import numpy as np

from handsfree.speech.ahead import Ahead
from handsfree.speech.capture import SoundCapture
from handsfree.speech.ears import Utterance
from handsfree.speech.microphone_ears import MicrophoneEars
from handsfree.speech.recogniser import Recognised, Samples, VoskRecogniser

from .conftest import Synthesise


class Lengths:
    """Hears the length of the sound, and keeps on which thread it was asked."""

    def __init__(self) -> None:
        self.asked: list[tuple[int, bool]] = []

    def recognise(self, samples: Samples) -> Recognised:
        ahead = threading.current_thread() is not threading.main_thread()
        self.asked.append((len(samples), ahead))
        return Recognised(text=str(len(samples)))


SOUND = np.arange(1000, dtype=np.int16)


def test_what_was_begun_counts_for_an_utterance_that_ends_there() -> None:
    recogniser = Lengths()
    ahead = Ahead(recogniser)
    ahead.begin(SOUND[:800])
    assert ahead.busy
    assert ahead.recognise(SOUND).text == "800"
    assert not ahead.busy
    assert recogniser.asked == [(800, True)]


def test_what_was_forgotten_or_began_otherwise_is_recognised_anew() -> None:
    ahead = Ahead(Lengths())
    ahead.begin(SOUND[:800])
    ahead.forget()
    assert ahead.recognise(SOUND).text == "1000"
    ahead.begin(SOUND[100:800])
    assert ahead.recognise(SOUND).text == "1000"
    assert ahead.recognise(SOUND[:5]).text == "5"


def test_a_breath_in_mid_sentence_ends_nothing_and_the_whole_sentence_is_heard(
    synthesise: Synthesise, recogniser: VoskRecogniser
) -> None:
    rng = np.random.default_rng(4)

    def quiet(seconds: float) -> Samples:
        return np.zeros(round(seconds * 16_000), np.int16)

    first, second = synthesise("closing time"), synthesise("four point two")
    # The synthetic voice has 0.2 s of silence of its own around a text.
    stream = np.concatenate((quiet(1), first[:-1600], quiet(0.05), second[1600:], quiet(1.5)))
    noisy = (stream + rng.normal(0, 12, len(stream))).astype(np.int16)
    asked: list[int] = []

    class Counting:
        def recognise(self, samples: Samples) -> Recognised:
            asked.append(len(samples))
            return recogniser.recognise(samples)

    ears = MicrophoneEars(SoundCapture(noisy), Counting())
    heard = ears.listen()
    assert isinstance(heard, Utterance)
    assert heard.text == "closing time four point two"
    assert heard.samples is not None and asked[-1] < len(heard.samples)
