"""The possible words at a mark: real sound through the shipped model."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from handsfree.job.reading import LEAF_SUBJECTS, Subject
from handsfree.language.interpreter import Language
from handsfree.recognition.cycle_listener import CycleListener
from handsfree.recognition.heard_words import labels_of
from handsfree.recognition.mark_recognizer import MarkRecognizer, cues_at
from handsfree.recognition.recognizer import Recognized, Word
from handsfree.recognition.speech_model import SpeechModel
from handsfree.timing.cycle import WORDS
from handsfree.timing.mark import MIN_GAP_S
from handsfree.timing.onset_detector import OnsetDetector
from handsfree.timing.pair_cycle import pair_cycle_of
from tests.timing.sounds import stream, tap

LANGUAGE = Language.load()


@pytest.fixture(scope="module")
def words() -> MarkRecognizer:
    return MarkRecognizer(SpeechModel.load(), LANGUAGE.automaton("mark"), LANGUAGE.mark)


def in_a_room(*parts: NDArray[np.int16], gap_s: float = 1.2) -> NDArray[np.int16]:
    """The sounds joined, with half a second of quiet before each."""
    gap = np.zeros(round(gap_s * 16000), np.int16)
    sound = np.concatenate([each for part in parts for each in (gap, part)] + [gap, gap])
    return (sound + np.random.default_rng(2).normal(0, 20, len(sound))).astype(np.int16)


def trimmed(samples: NDArray[np.int16]) -> NDArray[np.int16]:
    loud = np.flatnonzero(np.abs(samples.astype(int)) > 300)
    return samples[loud[0] : loud[-1]]


def marks_in(samples: NDArray[np.int16]):
    detector = OnsetDetector()
    return (*detector.feed(samples), *detector.finish())


@pytest.mark.slow
def test_a_word_is_heard_clearly_and_said_to_start_at_its_mark(words, synthesize):
    sound = in_a_room(synthesize("open"))
    (mark,) = marks_in(sound)

    ((_, said),) = cues_at(words, sound, [mark], by_leaf=False)

    assert said.clearly
    assert said.words[0].label.word == "open"
    assert said.words[0].label.start_s == pytest.approx(mark.at_s, abs=0.1)


@pytest.mark.slow
def test_a_tap_says_nothing(words):
    sound = stream(4.0, {1.0: tap(), 2.5: tap(900)})

    heard = cues_at(words, sound, marks_in(sound), by_leaf=False)

    assert [said.words for _, said in heard] == [(), ()]


@pytest.mark.slow
def test_the_second_word_of_a_phrase_is_no_mark_of_its_own(words, synthesize):
    left, closing = (trimmed(synthesize(text)) for text in ("left", "closing"))
    pause = np.zeros(round(0.75 * 16000) - len(left), np.int16)
    sound = in_a_room(np.concatenate((left, pause, closing)))
    marks = marks_in(sound)
    assert len(marks) == 2

    heard = cues_at(words, sound, marks, by_leaf=True)

    assert [mark.sample for mark, _ in heard] == [marks[0].sample]
    assert heard[0][1].words[0].label.leaf is Subject.LEFT_LEAF


@pytest.mark.slow
def test_what_was_heard_is_kept_for_a_later_call(words, synthesize):
    sound = in_a_room(synthesize("go"))
    marks, known = marks_in(sound), {}

    first = cues_at(words, sound, marks, by_leaf=False, known=known)

    assert len(known) == 1
    known.update(dict.fromkeys(known, (first[0][1].model_copy(update={"words": ()}), None)))
    assert cues_at(words, sound, marks, by_leaf=False, known=known)[0][1].words == ()


def test_a_leaf_that_is_named_lends_its_start():
    heard = Recognized(
        text="left go",
        words=(
            Word(word="left", start_s=0.5, end_s=0.8),
            Word(word="go", start_s=0.9, end_s=1.1),
        ),
    )

    labels = [each for each in labels_of(heard, LANGUAGE.mark, 10.0) if each.leaf]

    assert [(each.word, each.leaf) for each in labels] == [("go", Subject.LEFT_LEAF)]
    assert labels[0].start_s == pytest.approx(10.66)


@pytest.mark.slow
def test_both_leaves_are_timed_in_one_cycle_by_voice(words, synthesize):
    names = dict(zip(LEAF_SUBJECTS, ("left", "right"), strict=True))
    phrases = [f"{names[leaf]} {word}" for word in WORDS for leaf in LEAF_SUBJECTS]
    sound = in_a_room(*map(synthesize, phrases))
    listening = CycleListener(words, LANGUAGE.mark, len(phrases), 0.02)
    for first in range(0, len(sound), 1600):
        listening.feed(sound[first : first + 1600])
        if listening.over:
            break
    assert listening.over

    run = listening.finish()
    pair = pair_cycle_of(run.marks, run.labels, MIN_GAP_S)

    assert [str(problem) for problem in pair.all_problems] == []
    assert [label.word for label in run.labels] == [word for word in WORDS for _ in LEAF_SUBJECTS]
