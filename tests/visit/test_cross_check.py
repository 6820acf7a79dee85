"""Visits with a second ear that agrees, differs, transcribes, is slow, dies, or is missing."""

from __future__ import annotations

import threading
from collections.abc import Iterable
from pathlib import Path

import pytest

from handsfree.checks.limits import load_limits
from handsfree.clock import FakeClock
from handsfree.errors import SecondEarError
from handsfree.journal import events as ev
from handsfree.journal.reader import read, verify
from handsfree.journal.writer import Journal
from handsfree.language.interpreter import Language
from handsfree.procedure.loader import parse_procedure
from handsfree.recognition.ears import FakeEars
from handsfree.recognition.port import QuietPeriod, Utterance
from handsfree.second_ear.port import FakeSecondEar
from handsfree.synthesis.mouth import SilentMouth
from handsfree.visit.resume import first_state, opening_event, state_of
from handsfree.visit.session import Visit

from ..talk import PROCEDURE, SHEET
from .test_session import said

LANGUAGE = Language.load()
LIMITS = load_limits("a156.19")
TIMES = parse_procedure(
    PROCEDURE.replace('[[stage]]\nid = "safe"\ntitle = "make safe"\n', "")
    .replace('[[stage]]\nid = "motors"\ntitle = "trace the motors"\n', "")
    .split("[[step]]")[0]
    + "".join("[[step]]" + step for step in PROCEDURE.split("[[step]]")[-2:]),
    "times.toml",
    "0" * 64,
)
"""The steps that wait only for a reading."""
WHOLE = parse_procedure(PROCEDURE, "small.toml", "0" * 64)
SLOW = None
DEAD = SecondEarError("its process has died")


class Forgetful(FakeSecondEar):
    """An ear whose text comes only after the next look at it."""

    def begin(self, samples):
        future = super().begin(samples)
        text = future.result()
        future = type(future)()
        self.finish = lambda: future.set_result(text)
        return future


class LiveEars(FakeEars):
    """Ears that the talk goes on for, whether anybody has heard it or not."""

    reports_silence = True


def a_visit(
    folder: Path, heard: Iterable[object], ear: FakeSecondEar | None, procedure=TIMES
) -> Visit:
    return Visit(
        Journal.create(folder),
        first_state(SHEET, procedure, LIMITS),
        language=LANGUAGE,
        ears=LiveEars(heard),
        mouth=SilentMouth("a test"),
        clock=FakeClock(),
        ear=ear,
    )


def run(
    folder: Path, heard: Iterable[str | object], ear: FakeSecondEar | None, procedure=TIMES
) -> list[ev.Body]:
    """A whole visit; a text is an utterance with sound."""
    utterances = [
        said(each, 2.0 * nth) if isinstance(each, str) else each for nth, each in enumerate(heard)
    ]
    visit = a_visit(folder, utterances, ear, procedure)
    visit.open(opening_event(SHEET, procedure, LIMITS, model="none", ears="fake", mouth="silent"))
    visit.run()
    visit._journal.close()
    assert verify(folder).whole
    return [event.body for event in read(folder)]


def of(bodies: list[ev.Body], kind: type) -> list:
    return [body for body in bodies if isinstance(body, kind)]


def readings(bodies: list[ev.Body]) -> list[tuple[str, str | None]]:
    accepted = of(bodies, ev.ReadingAccepted)
    return [(str(each.reading.value), each.reading.second_ear) for each in accepted]


def texts(bodies: list[ev.Body]) -> list[str]:
    return [body.text for body in of(bodies, ev.Said)]


def test_where_they_agree_the_reading_bears_the_mark(tmp_path):
    ear = FakeSecondEar(["Left leaf opening time, 3.7 seconds."])
    bodies = run(tmp_path, ["left leaf opening time three point seven", "affirm"], ear)
    assert readings(bodies) == [("3.7", "agreed")]
    (second,) = of(bodies, ev.SecondHeard)
    assert second.outcome == "agreed"
    assert second.words == "left leaf opening time three point seven seconds"
    assert second.text == "Left leaf opening time, 3.7 seconds."
    (heard,) = [e for e in read(tmp_path) if e.seq == second.heard]
    assert heard.body.text == "left leaf opening time three point seven"


def test_it_hears_the_sound_of_the_value_and_not_of_the_answer(tmp_path):
    ear = FakeSecondEar(["3.7"])
    run(tmp_path, ["three point seven", "say again", "affirm"], ear)
    assert len(ear.sounds) == 1


def test_where_they_differ_the_tool_asks_and_the_answer_decides(tmp_path):
    ear = FakeSecondEar(["3.76", "3.76"])
    heard = ["three point seven", "three point seven six", "affirm"]
    bodies = run(tmp_path, heard, ear)
    assert "I heard three point seven, or three point seven six?" in texts(bodies)
    assert readings(bodies) == [("3.76", "chosen")]


def test_it_never_acts_alone(tmp_path):
    """What it hears files nothing, and what was not understood is not heard by it."""
    ear = FakeSecondEar(["3.76"] * 9)
    bodies = run(tmp_path, ["nice weather", "three point seven", "nice weather"], ear)
    assert readings(bodies) == []
    assert len(ear.sounds) == 1


@pytest.mark.parametrize("text", ["The cat sat on the mat.", "", "affirm", "12,5", "$3.70"])
def test_what_does_not_parse_changes_nothing(tmp_path, text):
    bodies = run(tmp_path, ["three point seven", "affirm"], FakeSecondEar([text]))
    assert readings(bodies) == [("3.7", None)]
    without = run(tmp_path / "without", ["three point seven", "affirm"], None)
    assert texts(bodies) == texts(without)


def test_a_value_whose_leaf_is_asked_for_is_compared_after_that(tmp_path):
    ear = FakeSecondEar(["Backcheck 71 degrees."])
    heard = ["backcheck seventy", "left leaf", "seventy one", "affirm"]
    bodies = run(tmp_path, heard, ear, WHOLE)
    asked = texts(bodies)
    assert asked.index("Which leaf, left or right?") < asked.index(
        "I heard seven zero, or seven one?"
    )
    assert readings(bodies) == [("71", "chosen")]


def test_a_note_and_a_reason_are_typed_up_beside_their_sound(tmp_path):
    ear = FakeSecondEar(["The arm is loose.", "No time today."])
    bodies = run(tmp_path, ["note", "[unk]", "skip", "[unk]"], ear)
    events = {event.seq: event.body for event in read(tmp_path)}
    typed = of(bodies, ev.TypedUp)
    assert [body.text for body in typed] == ["The arm is loose.", "No time today."]
    assert [events[body.heard].text for body in typed] == ["[unk]", "[unk]"]
    assert all(events[body.heard].clip for body in typed)
    assert of(bodies, ev.NoteKept)[0].text == "[unk]"  # the journal's own text stands


def test_a_note_in_one_breath_is_typed_up(tmp_path):
    bodies = run(tmp_path, ["note the arm is loose"], FakeSecondEar(["Note, the arm is loose."]))
    assert [body.text for body in of(bodies, ev.TypedUp)] == ["Note, the arm is loose."]


def test_a_note_that_was_called_off_is_not_typed_up(tmp_path):
    ear = FakeSecondEar(["Disregard."])
    assert not of(run(tmp_path, ["note", "disregard"], ear), ev.TypedUp)
    assert not ear.sounds


def test_the_end_of_a_visit_waits_for_the_words_of_the_last_note(tmp_path):
    ear = Forgetful(["The arm is loose."])
    visit = a_visit(tmp_path, [], ear)
    visit.open(opening_event(SHEET, TIMES, LIMITS, model="none", ears="fake", mouth="silent"))
    visit.hear(said("note the arm is loose", 1.0))
    threading.Timer(0.3, lambda: ear.finish()).start()
    visit.run()
    visit._journal.close()
    bodies = [event.body for event in read(tmp_path)]
    assert [body.text for body in of(bodies, ev.TypedUp)] == ["The arm is loose."]


def test_a_slow_ear_is_not_waited_for(tmp_path):
    bodies = run(tmp_path, ["three point seven", "affirm"], FakeSecondEar([SLOW]))
    assert readings(bodies) == [("3.7", None)]
    assert not of(bodies, ev.SecondHeard) and not of(bodies, ev.Fault)


def test_a_recording_stands_still_until_it_is_heard(tmp_path):
    ear = Forgetful(["3.76"])
    visit = a_visit(tmp_path, [], ear)
    visit._ears = FakeEars([])
    visit.open(opening_event(SHEET, TIMES, LIMITS, model="none", ears="fake", mouth="silent"))
    threading.Timer(0.3, lambda: ear.finish()).start()
    visit.hear(said("three point seven", 1.0))
    visit._journal.close()
    bodies = [event.body for event in read(tmp_path)]
    assert texts(bodies)[-1] == "I heard three point seven, or three point seven six?"


@pytest.mark.slow
def test_an_ear_that_is_late_three_times_is_told_once_and_left_out(tmp_path):
    ear = FakeSecondEar([SLOW] * 9)
    values = ["three point seven", "affirm"] * 2 + ["six", "affirm"] * 3
    bodies = run(tmp_path, values, ear)
    faults = of(bodies, ev.Fault)
    assert [(fault.what, fault.detail) for fault in faults] == [
        ("second_ear_lost", "it is too slow on this computer")
    ]
    assert texts(bodies).count("The second ear has stopped. The visit goes on without it.") == 1
    assert len(ear.sounds) == 3
    assert len(readings(bodies)) > 3


def test_what_comes_late_asks_before_the_value_is_filed(tmp_path):
    ear = Forgetful(["3.76"])
    visit = a_visit(tmp_path, [], ear)
    visit.open(opening_event(SHEET, TIMES, LIMITS, model="none", ears="fake", mouth="silent"))
    visit.hear(said("three point seven", 1.0))
    ear.finish()
    visit.hear(said("affirm", 3.0))
    visit._journal.close()
    bodies = [event.body for event in read(tmp_path)]
    assert readings(bodies) == []
    assert texts(bodies).count("I heard three point seven, or three point seven six?") == 1


def test_what_comes_in_a_pause_is_asked_in_the_pause(tmp_path):
    ear = Forgetful(["3.76"])

    class Pausing(LiveEars):
        def listen(self):
            found = super().listen()
            if isinstance(found, QuietPeriod):
                ear.finish()
            return found

    visit = a_visit(tmp_path, [], ear)
    visit._ears = Pausing([said("three point seven", 1.0), QuietPeriod(2.0)])
    visit.open(opening_event(SHEET, TIMES, LIMITS, model="none", ears="fake", mouth="silent"))
    visit.run()
    visit._journal.close()
    bodies = [event.body for event in read(tmp_path)]
    assert texts(bodies)[-1] == "I heard three point seven, or three point seven six?"


def test_an_ear_that_dies_is_told_once_and_the_visit_goes_on(tmp_path):
    ear = FakeSecondEar(["3.7", DEAD])
    heard = ["three point seven", "affirm", "three point seven", "affirm", "note", "[unk]"]
    bodies = run(tmp_path, heard, ear)
    assert [fault.detail for fault in of(bodies, ev.Fault)] == ["its process has died"]
    assert readings(bodies)[0] == ("3.7", "agreed")
    assert len(readings(bodies)) == 2
    assert len(ear.sounds) == 2
    assert of(bodies, ev.NoteKept)


def test_typed_lines_are_not_given_to_it(tmp_path):
    ear = FakeSecondEar(["3.76"])
    bodies = run(tmp_path, [Utterance("three point seven"), Utterance("affirm")], ear)
    assert readings(bodies) == [("3.7", None)]
    assert not ear.sounds


@pytest.mark.parametrize(
    ("second", "answer", "filed"),
    [("3.7", "affirm", ("3.7", "agreed")), ("3.76", "three point seven six", ("3.76", "chosen"))],
)
def test_after_a_break_the_question_and_the_mark_stand_as_they_stood(
    tmp_path, second, answer, filed
):
    run(tmp_path, ["three point seven"], FakeSecondEar([second]))
    state = state_of(read(tmp_path), TIMES, LIMITS, LANGUAGE, tmp_path)
    with Journal.open(tmp_path, FakeClock().utc()) as journal:
        visit = Visit(
            journal,
            state,
            language=LANGUAGE,
            ears=FakeEars([said(answer, 2.0), said("affirm", 4.0)]),
            mouth=SilentMouth("a test"),
            clock=FakeClock(),
        )
        visit.reopen(ev.VisitResumed(version="0", ears="fake", mouth="silent"))
        visit.run()
    assert readings([event.body for event in read(tmp_path)])[0] == filed
