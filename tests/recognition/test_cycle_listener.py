"""Listening during a timed run: marks in the stream, words at them, and its end."""

from __future__ import annotations

from itertools import cycle

import numpy as np
import pytest

from handsfree.audio.sound_files import write_sound
from handsfree.language.interpreter import Language
from handsfree.recognition.cycle_listener import (
    CLATTER_S,
    GIVE_UP_S,
    LATCHED_S,
    QUIET_AFTER_S,
    CycleListener,
    mark_recognizer,
)
from handsfree.recognition.ears import RecordedEars
from handsfree.recognition.recognizer import FakeRecognizer, VoskRecognizer
from handsfree.recognition.speech_model import SpeechModel
from handsfree.recognition.voice_activity import CHUNK
from handsfree.timing.cycle import MOMENTS, cycle_of
from tests.timing.sounds import stream, tap

CYCLE_S = (1.0, 5.2, 7.1, 13.6, 18.0, 20.1)
WORDS = ("go", "check", "open", "closing", "ten", "shut")
LANGUAGE = Language.load()


def listener(texts=(), least_rms: float = 0.0) -> CycleListener:
    return CycleListener(FakeRecognizer(texts), LANGUAGE.mark, 6, least_rms)


def feed(listening: CycleListener, samples: np.ndarray) -> float:
    """Feeds blocks until it is over; returns the seconds that it took."""
    for start in range(0, len(samples), 1600):
        listening.feed(samples[start : start + 1600])
        if listening.over:
            return (start + 1600) / 16000
    return len(samples) / 16000


@pytest.mark.slow
def test_six_taps_end_the_run_soon_after_the_last():
    listening = listener()
    took_s = feed(listening, stream(40, {at: tap() for at in CYCLE_S}))
    run = listening.finish()
    assert [mark.at_s for mark in run.marks] == pytest.approx(CYCLE_S, abs=0.002)
    assert took_s == pytest.approx(CYCLE_S[-1] + QUIET_AFTER_S, abs=0.4)
    assert len(run.samples) / 16000 == pytest.approx(took_s, abs=0.01)
    assert not run.cancelled and run.labels == ()


@pytest.mark.slow
def test_a_run_ends_at_the_same_sample_whatever_the_blocks():
    sound = stream(25, {at: tap() for at in CYCLE_S})
    ends = []
    for sizes in ([CHUNK], [320, CHUNK - 320], [64] * (CHUNK // 64)):
        listening, at = listener(), 0
        for size in cycle(sizes):
            listening.feed(sound[at : at + size])
            at += size
            if listening.over:
                break
        ends.append(len(listening.finish().samples))
    assert ends[0] < len(sound)
    assert ends == [ends[0]] * len(ends)


@pytest.mark.slow
def test_a_seventh_sound_right_after_the_last_is_given_too():
    listening = listener()
    feed(listening, stream(40, {at: tap() for at in (*CYCLE_S, CYCLE_S[-1] + 0.6)}))
    assert len(listening.finish().marks) == 7


@pytest.mark.slow
def test_without_further_marks_it_gives_up():
    listening = listener()
    took_s = feed(listening, stream(GIVE_UP_S + 10, {1.0: tap(), 5.2: tap()}))
    assert took_s == pytest.approx(5.2 + GIVE_UP_S, abs=0.5)
    assert len(listening.finish().marks) == 2


@pytest.mark.slow
def test_what_is_softer_than_the_voice_is_no_mark():
    soft = {at: 0.05 * tap() for at in CYCLE_S}
    listening = listener(least_rms=0.05)
    feed(listening, stream(25, soft))
    assert listening.finish().marks == ()


@pytest.mark.slow
def test_the_words_of_a_voice_name_their_marks_and_cancel_ends_the_run(synthesize):
    """Real sound through the model that ships, with the graph of the few words."""
    gap = np.zeros(24000, np.int16)
    said = [part for word in WORDS for part in (gap, synthesize(word))]
    recognizer = mark_recognizer(SpeechModel.load(), LANGUAGE.automaton("mark"), LANGUAGE.mark)
    listening = CycleListener(recognizer, LANGUAGE.mark, 6, 0.0)
    noise = np.random.default_rng(4).normal(0, 20, sum(map(len, said)) + 16000)
    sound = np.concatenate([*said, np.zeros(16000, np.int16)]) + noise
    feed(listening, sound.astype(np.int16))
    run = listening.finish()
    assert len(run.marks) == 6
    heard = [label.word for label in run.labels]
    assert set(heard) <= set(WORDS) and len(heard) >= 4
    for label in run.labels:
        nearest = min(run.marks, key=lambda mark: abs(mark.at_s - label.start_s))
        assert run.marks.index(nearest) == WORDS.index(label.word)

    calling_off = CycleListener(recognizer, LANGUAGE.mark, 6, 0.0)
    words = np.concatenate([gap, synthesize("go"), gap, synthesize("cancel the clock"), gap, gap])
    feed(calling_off, (words + np.random.default_rng(5).normal(0, 20, len(words))).astype(np.int16))
    assert calling_off.finish().cancelled


@pytest.mark.slow
def test_a_clatter_among_words_does_not_end_the_run_before_its_last_word(synthesize):
    """Six sharp sounds are there at 'ten'; 'shut' is said 2.1 s later."""
    recognizer = mark_recognizer(SpeechModel.load(), LANGUAGE.automaton("mark"), LANGUAGE.mark)
    sounds = {at: synthesize(word) / 32768 for at, word in zip(CYCLE_S, WORDS, strict=True)}
    listening = CycleListener(recognizer, LANGUAGE.mark, 6, 0.0)

    took_s = feed(listening, stream(40, sounds | {10.0: tap()}))
    run = listening.finish()

    assert [mark.spoken for mark in run.marks] == [True, True, True, False, True, True, True]
    assert cycle_of(run.marks, run.labels).placed[-1].mark == run.marks[-1]
    assert took_s < 25


@pytest.mark.slow
def test_a_clatter_right_before_a_word_does_not_cost_its_mark(synthesize):
    recognizer = mark_recognizer(SpeechModel.load(), LANGUAGE.automaton("mark"), LANGUAGE.mark)
    sounds = {at: synthesize(word) / 32768 for at, word in zip(CYCLE_S, WORDS, strict=True)}
    alone, beside = (CycleListener(recognizer, LANGUAGE.mark, 6, 0.0) for _ in range(2))
    feed(alone, stream(40, sounds))
    expected = alone.finish()

    feed(beside, stream(40, sounds | {expected.marks[2].at_s - 0.4: tap()}))
    run = beside.finish()

    assert [mark.spoken for mark in run.marks].count(False) == 1
    times, whole = (cycle_of(each.marks, each.labels).intervals for each in (run, expected))
    assert len(whole) == 5
    assert [each.seconds for each in times] == pytest.approx(
        [each.seconds for each in whole], abs=0.02
    )


@pytest.mark.slow
@pytest.mark.parametrize("missed", [1, 4])
def test_after_its_last_word_a_run_does_not_wait_for_a_mark_that_was_missed(synthesize, missed):
    recognizer = mark_recognizer(SpeechModel.load(), LANGUAGE.automaton("mark"), LANGUAGE.mark)
    said = [each for nth, each in enumerate(zip(CYCLE_S, WORDS, strict=True)) if nth != missed]
    sounds = {at: synthesize(word) / 32768 for at, word in said}
    listening = CycleListener(recognizer, LANGUAGE.mark, 6, 0.0)

    took_s = feed(listening, stream(60, sounds))
    run = listening.finish()

    assert took_s == pytest.approx(CYCLE_S[5] + LATCHED_S, abs=1.0)
    (problem,) = cycle_of(run.marks, run.labels).problems
    assert (problem.kind, problem.moments) == ("missing", (MOMENTS[missed],))


@pytest.mark.slow
def test_a_run_whose_last_word_is_still_to_come_is_waited_for(synthesize):
    recognizer = mark_recognizer(SpeechModel.load(), LANGUAGE.automaton("mark"), LANGUAGE.mark)
    sounds = {at: synthesize(word) / 32768 for at, word in zip(CYCLE_S[:5], WORDS[:5], strict=True)}
    listening = CycleListener(recognizer, LANGUAGE.mark, 6, 0.0)

    assert feed(listening, stream(40, sounds)) == 40


@pytest.mark.slow
def test_a_tap_in_the_place_of_a_word_is_waited_for_and_asked_about(synthesize):
    recognizer = mark_recognizer(SpeechModel.load(), LANGUAGE.automaton("mark"), LANGUAGE.mark)
    sounds = {at: synthesize(word) / 32768 for at, word in zip(CYCLE_S[:5], WORDS[:5], strict=True)}
    listening = CycleListener(recognizer, LANGUAGE.mark, 6, 0.0)

    took_s = feed(listening, stream(60, sounds | {CYCLE_S[5]: tap()}))
    run = listening.finish()

    assert took_s == pytest.approx(CYCLE_S[5] + CLATTER_S, abs=0.5)
    assert [problem.kind for problem in cycle_of(run.marks, run.labels).problems] == ["unheard"]


@pytest.mark.slow
def test_a_recording_goes_on_after_its_run(tmp_path, recognizer: VoskRecognizer, synthesize):
    taps = stream(24, {at: tap() for at in CYCLE_S})
    said = np.concatenate([np.zeros(16000, np.int16), synthesize("affirm"), taps[:24000]])
    write_sound(tmp_path / "run.flac", np.concatenate([taps, said]))
    ears = RecordedEars(tmp_path / "run.flac", recognizer, (FakeRecognizer([]), LANGUAGE.mark))
    assert ears.can_time
    run = ears.time(6, 0.0)
    assert len(run.marks) == 6
    assert run.start_s == 0.0 and run.end_s == pytest.approx(CYCLE_S[-1] + 1.1, abs=0.3)
    after = ears.listen()
    assert after is not None and after.text == "affirm"
    assert after.start_s is not None and after.start_s > 24
