"""A synthetic voice is recognized by the real ears."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from handsfree.errors import RehearsalError
from handsfree.language.interpreter import Language
from handsfree.recognition.cycle_listener import mark_recognizer
from handsfree.recognition.recognizer import VoskRecognizer
from handsfree.recognition.speech_model import SpeechModel
from handsfree.rehearsal.acoustic_ears import AcousticEars
from handsfree.rehearsal.room_acoustics import Room
from handsfree.rehearsal.simulated_ears import SimulatedClock
from handsfree.rehearsal.synthetic_voices import SyntheticVoices, why_missing
from handsfree.rehearsal.technician_memory import SpokenLine
from handsfree.timing.cycle import cycle_of

VOICE = "flite:rms"

pytestmark = pytest.mark.skipif(why_missing(VOICE) is not None, reason="flite is not installed")


class Says:
    """Says these lines, whatever the question."""

    def __init__(self, *lines: SpokenLine, marks: tuple[float, ...] | None = None) -> None:
        self.lines: Iterator[SpokenLine] = iter(lines)
        self.marks, self.unnoticed = marks, 0

    def speak(self) -> SpokenLine | None:
        return next(self.lines, None)

    def mark(self) -> tuple[float, ...] | None:
        return self.marks

    def nothing_happened(self) -> None:
        self.unnoticed += 1


@pytest.fixture(scope="module")
def hearing(language: Language, tmp_path_factory):
    model = SpeechModel.load()
    recognizer = VoskRecognizer(model, language.automaton())
    clock_ears = (mark_recognizer(model, language.automaton("mark"), language.mark), language.mark)
    voices = SyntheticVoices(tmp_path_factory.mktemp("voices"))

    def ears(technician: Says, room: Room | None = None) -> tuple[AcousticEars, SimulatedClock]:
        clock = SimulatedClock()
        made = AcousticEars(
            technician, clock, recognizer, clock_ears, room or Room(), voices, VOICE, VOICE
        )
        return made, clock

    return ears


@pytest.mark.slow
def test_lines_are_heard_and_time_goes_on(hearing, language):
    said = ("left leaf opening time six point two", "affirm", "in order")
    ears, clock = hearing(Says(*(SpokenLine(text=text, after_s=5.0) for text in said)))
    ends = []
    for text in said:
        heard = ears.listen()
        assert language.parse(heard.text) == language.parse(text)
        assert len(heard.samples) > 8000
        assert heard.start_s < heard.end_s <= clock.now_s
        ends.append(heard.end_s)
    assert ears.listen() is None
    assert ends == sorted(ends) and ends[-1] > 15.0
    assert ears.not_noticed == 0


def test_what_is_typed_makes_no_sound(hearing):
    ears, _ = hearing(Says(SpokenLine(text="done", typed=True)))
    heard = ears.listen()
    assert (heard.text, heard.samples, heard.start_s) == ("done", None, None)


@pytest.mark.slow
def test_chat_is_no_sentence(hearing, language):
    chat = SpokenLine(text="who has the key for the basement", who="passer-by", to_tool=False)
    ears, _ = hearing(Says(chat))
    assert language.parse(ears.listen().text) is None


@pytest.mark.slow
def test_a_run_of_the_clock_has_its_marks(hearing):
    marks = (1.2, 5.0, 6.6, 12.9, 17.4, 19.3)
    ears, clock = hearing(Says(marks=marks))
    run = ears.time(len(marks), 0.02)
    cycle = cycle_of(run.marks, run.labels)
    assert cycle.complete and not cycle.problems, cycle.problems
    for interval, (begin, end) in zip(
        cycle.intervals, ((0, 1), (0, 2), (2, 3), (3, 4), (4, 5)), strict=True
    ):
        # A word's first, soft sound may be heard late: docs/timing.md has the figures.
        assert interval.seconds == pytest.approx(marks[end] - marks[begin], abs=0.25)
    assert run.end_s == clock.now_s > marks[-1]


@pytest.mark.slow
def test_a_leaf_that_does_not_come_so_far_cancels_the_clock(hearing):
    ears, _ = hearing(Says(marks=None))
    assert ears.time(6, 0.02).cancelled


def test_a_voice_that_is_not_there_is_named():
    with pytest.raises(RehearsalError, match="flite has no voice 'nobody'"):
        SyntheticVoices().say("flite:nobody", "yes")
    assert "names no speech program" in why_missing("siren")


def test_a_voice_is_made_once(tmp_path):
    voices = SyntheticVoices(tmp_path)
    first = voices.say(VOICE, "yes")
    (kept,) = tmp_path.glob("*.flac")
    before = kept.stat().st_mtime_ns
    assert len(voices.say(VOICE, "yes")) == len(first)
    assert kept.stat().st_mtime_ns == before


@pytest.mark.slow
def test_nothing_of_one_utterance_is_left_for_the_next(hearing):
    """With a microphone the ears open anew after the tool has spoken."""
    ears, clock = hearing(Says(*(SpokenLine(text="affirm", after_s=0.0) for _ in range(3))))
    for _ in range(3):
        opened_s = clock.now_s
        assert ears.listen().start_s >= round(opened_s, 3)
