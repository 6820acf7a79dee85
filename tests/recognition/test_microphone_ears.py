"""Ears on a continuous stream: what is heard, when they are closed, what is reported."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pytest

from handsfree.audio.capture import Block, DeviceBack, DeviceLost, FakeCapture, Samples
from handsfree.recognition.microphone_ears import MicrophoneEars
from handsfree.recognition.port import EarEvent, QuietPeriod, SourceFault, Utterance
from handsfree.recognition.recognizer import FakeRecognizer, VoskRecognizer
from tests.speech_fixtures import Synthesize

from .test_ears import SAID, AnyEars

RATE = 16_000


def room(seconds: float) -> Samples:
    """A quiet room."""
    rng = np.random.default_rng(round(seconds * 1000))
    return rng.normal(0, 20, round(seconds * RATE)).astype(np.int16)


class Typing:
    """Delivers lines and key presses at given times, counted in polls."""

    def __init__(self, lines: Sequence[str] = (), presses: int = 0) -> None:
        self.lines = list(lines)
        self.presses = presses

    def line(self) -> str | None:
        return self.lines.pop(0) if self.lines else None

    def pressed(self) -> bool:
        self.presses -= 1
        return self.presses >= 0


def all_of(ears: MicrophoneEars) -> list[EarEvent]:
    return list(iter(ears.listen, None))


def texts(heard: Sequence[EarEvent]) -> list[str]:
    return [each.text for each in heard if isinstance(each, Utterance)]


class TestMicrophoneEars(AnyEars):
    @pytest.fixture
    def ears(self, synthesize: Synthesize, recognizer: VoskRecognizer) -> MicrophoneEars:
        parts = [part for text in SAID for part in (room(1.0), synthesize(text))]
        return MicrophoneEars(FakeCapture(*parts, room(1.5)), recognizer)


def test_the_clock_counts_the_samples_of_the_stream_and_what_was_lost(
    synthesize: Synthesize,
) -> None:
    word = synthesize("affirm")
    capture = FakeCapture(
        room(2.0), word, room(1.0), DeviceLost("gone"), DeviceBack(10.0), room(1.0), word
    )
    heard = all_of(MicrophoneEars(capture, FakeRecognizer(["affirm", "affirm"])))
    first, lost, back, second = heard
    assert lost == SourceFault("microphone_lost", "gone")
    assert back == SourceFault("microphone_back", lost_s=10.0)
    assert isinstance(first, Utterance) and isinstance(second, Utterance)
    assert first.start_s is not None and second.start_s is not None
    assert 1.0 < first.start_s < 2.1
    expected_s = 2.0 + len(word) / RATE + 1.0 + 10.0 + 1.0
    assert second.start_s == pytest.approx(expected_s - 0.5, abs=0.2)


def test_an_utterance_that_the_microphone_was_pulled_out_of_is_not_put_together(
    synthesize: Synthesize,
) -> None:
    word = synthesize("closing time four point two")
    half = len(word) // 2
    capture = FakeCapture(room(1.0), word[:half], DeviceLost("gone"), DeviceBack(1.0), room(2.0))
    heard = all_of(MicrophoneEars(capture, FakeRecognizer(["closing"])))
    assert [type(each) for each in heard] == [SourceFault, SourceFault]


def test_what_the_mouth_says_is_not_heard_nor_its_echo(synthesize: Synthesize) -> None:
    prompt = synthesize("opening time of the left leaf")
    capture = FakeCapture(room(1.0), prompt, room(0.5), synthesize("affirm"), room(1.0))
    ears = MicrophoneEars(capture, FakeRecognizer(["affirm"]), tail_s=0.2)
    begun = Draining(capture, len(room(1.0)) + len(prompt))
    ears._capture = begun
    ears.mouth_begins()
    assert not ears.interrupts()
    ears.mouth_ended()
    begun.limit = None
    (heard,) = all_of(ears)
    assert isinstance(heard, Utterance)
    assert heard.start_s is not None
    assert heard.start_s >= 1.0 + len(prompt) / RATE + 0.2 - 0.04


class Draining:
    """A capture that has delivered only part of its samples, and the rest after ``pauses``
    polls.
    """

    def __init__(self, capture: FakeCapture, limit: int | None, pauses: int | None = None) -> None:
        self._capture = capture
        self._pauses = pauses
        self.limit: int | None = limit
        self._given = 0

    @property
    def ended(self) -> bool:
        return self._capture.ended

    def read(self, wait_s: float) -> Block | DeviceLost | DeviceBack | None:
        if self.limit is not None and self._given >= self.limit:
            if self._pauses is not None:
                self._pauses -= 1
                self.limit = None if self._pauses <= 0 else self.limit
            return None
        piece = self._capture.read(wait_s)
        if isinstance(piece, Block):
            self._given += len(piece.samples)
        return piece

    def close(self) -> None:
        self._capture.close()


def test_with_a_headset_a_voice_stops_the_mouth_and_is_heard_whole(
    synthesize: Synthesize,
) -> None:
    word = synthesize("affirm")
    capture = FakeCapture(room(1.0), word, room(1.0))
    ears = MicrophoneEars(capture, FakeRecognizer(["affirm"]), headset=True)
    held = Draining(capture, RATE)
    ears._capture = held
    ears.mouth_begins()
    assert not ears.interrupts()
    asked = 0
    while not ears.interrupts():
        asked += 1
        assert held.limit is not None
        held.limit += 320
        assert asked < 100
    onset = int(np.flatnonzero(np.abs(word) > 300)[0])
    assert (asked * 320 - onset) / RATE < 0.15
    ears.mouth_ended()
    held.limit = None
    (heard,) = all_of(ears)
    assert isinstance(heard, Utterance) and heard.samples is not None
    assert len(heard.samples) > len(word)


def test_with_a_headset_a_silence_into_a_prompt_does_not_stop_it_nor_count_as_one() -> None:
    capture = FakeCapture(room(5.0), room(2.5))
    ears = MicrophoneEars(capture, FakeRecognizer([]), headset=True, quiet_at_s=(2.0,))
    held = Draining(capture, 5 * RATE)
    ears._capture = held
    ears.mouth_begins()
    assert not ears.interrupts()
    ears.mouth_ended()
    held.limit = None
    (quiet,) = all_of(ears)
    assert isinstance(quiet, QuietPeriod)
    assert ears._at >= 7 * RATE  # two seconds after the prompt


def test_with_a_headset_a_microphone_that_is_lost_stops_the_mouth() -> None:
    ears = MicrophoneEars(
        FakeCapture(room(0.5), DeviceLost("gone")), FakeRecognizer([]), headset=True
    )
    ears.mouth_begins()
    assert ears.interrupts()
    ears.mouth_ended()
    assert ears.listen() == SourceFault("microphone_lost", "gone")


def test_without_a_key_nothing_is_heard_and_after_one_a_single_utterance(
    synthesize: Synthesize,
) -> None:
    word = synthesize("affirm")
    sound = (room(1.0), word, room(1.0), word, room(1.0))
    closed = MicrophoneEars(
        FakeCapture(*sound), FakeRecognizer(["one"]), keyboard=Typing(), push_to_talk=True
    )
    assert texts(all_of(closed)) == []
    pressed = MicrophoneEars(
        FakeCapture(*sound),
        FakeRecognizer(["one", "two"]),
        keyboard=Typing(presses=1),
        push_to_talk=True,
    )
    pressed._capture = Draining(FakeCapture(*sound), 0, pauses=1)
    (heard,) = all_of(pressed)
    assert isinstance(heard, Utterance)
    assert heard.start_s is not None
    assert heard.start_s < 1.0  # the first of the two


def test_a_line_that_is_typed_counts_as_said_also_into_a_prompt(synthesize: Synthesize) -> None:
    keyboard = Typing(["affirm"])
    capture = FakeCapture(room(1.0))
    ears = MicrophoneEars(capture, FakeRecognizer([]), keyboard=keyboard)
    assert ears.listen() == Utterance("affirm")
    keyboard.lines.append("done")
    ears.mouth_begins()
    assert ears.interrupts()
    ears.mouth_ended()
    assert ears.listen() == Utterance("done")


def test_each_silence_is_told_of_once_and_begins_anew_after_a_word(
    synthesize: Synthesize,
) -> None:
    capture = FakeCapture(room(5.0), synthesize("affirm"), room(4.0))
    ears = MicrophoneEars(capture, FakeRecognizer(["affirm"]), quiet_at_s=(3.5, 2.0))
    heard = all_of(ears)
    kinds = [type(each) for each in heard]
    assert kinds == [QuietPeriod, QuietPeriod, Utterance, QuietPeriod, QuietPeriod]
    assert [round(each.seconds, 1) for each in heard if isinstance(each, QuietPeriod)] == [
        2.0, 3.5, 2.0, 3.5,
    ]  # fmt: skip


def test_a_microphone_that_is_muted_is_told_of_once_and_so_is_its_return() -> None:
    zeros = np.zeros(5 * RATE, np.int16)
    heard = all_of(MicrophoneEars(FakeCapture(zeros, room(1.0)), FakeRecognizer([])))
    assert [each.what for each in heard if isinstance(each, SourceFault)] == [
        "microphone_silent",
        "microphone_back",
    ]


def test_a_noise_gate_between_two_utterances_is_no_fault(synthesize: Synthesize) -> None:
    zeros = np.zeros(10 * RATE, np.int16)
    capture = FakeCapture(room(1.0), synthesize("affirm"), zeros, synthesize("affirm"), zeros)
    heard = all_of(MicrophoneEars(capture, FakeRecognizer(["affirm", "affirm"])))
    assert texts(heard) == ["affirm", "affirm"]
    assert not [each for each in heard if isinstance(each, SourceFault)]


def test_sound_that_the_system_dropped_is_told_of_but_not_every_time() -> None:
    blocks = [Block(n * 320, room(0.02), overflowed=n in (10, 20, 30)) for n in range(60)]
    capture = FakeCapture()
    capture._parts = blocks[::-1]
    heard = all_of(MicrophoneEars(capture, FakeRecognizer([])))
    assert [each.what for each in heard if isinstance(each, SourceFault)] == ["sound_overflowed"]
