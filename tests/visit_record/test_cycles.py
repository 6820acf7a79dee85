"""The timed runs, built from events."""

from __future__ import annotations

import numpy as np
import pytest

from handsfree.dialogue import state_machine
from handsfree.job.quantity import Quantity
from handsfree.job.reading import Subject
from handsfree.journal import events as ev
from handsfree.recognition.cycle_listener import CycleRun
from handsfree.reports.embedded_sound import NoSound
from handsfree.reports.run_picture import run_svg, run_view
from handsfree.reports.summary import summarize
from handsfree.reports.summary_text import summary_text
from handsfree.timing.cycle import Label
from handsfree.timing.mark import Mark
from handsfree.visit.cycle_events import event_of, heard_of
from handsfree.visit_record.visit_record import record_of

from ..reports.test_summary import journal
from ..talk import Talk

CYCLE_S = (1.0, 5.2, 7.1, 13.6, 18.0, 20.1)


def run_event(talk: Talk, *at_s: float, clip: str, leaf=Subject.LEFT_LEAF, **more) -> None:
    """The clock ran: kept by the shell, told to the conversation."""
    marks = tuple(
        Mark(
            sample=round(at * 16000),
            end_sample=round(at * 16000) + 3000,
            snr_db=30.0,
            level_db=-20.0,
            uncertainty_s=0.01,
        )
        for at in at_s
    )
    run = CycleRun(marks, more.pop("labels", ()), np.zeros(0, np.int16), **more)
    timed = event_of(leaf, run, clip, "0" * 64)
    talk.kept.append(timed)
    talk._take(state_machine.answer(talk.state, heard_of(timed), talk.now_s))


@pytest.fixture
def timed(talk) -> Talk:
    """A run that is filed, one called off, one with five marks, one refused, one withdrawn."""
    talk.state = talk.state.model_copy(update={"times_by_ear": True})
    talk.go_to("opening-time:left leaf")
    start = "start the clock left leaf"
    words = (Label(word="go", start_s=1.02), Label(word="shut", start_s=20.1))
    talk.says(start)
    run_event(talk, *CYCLE_S, clip="000001.flac", labels=words)
    talk.says("affirm", start)
    run_event(talk, 1.0, clip="000002.flac", cancelled=True)
    talk.says(start)
    run_event(talk, *CYCLE_S[:5], clip="000003.flac")
    talk.says("affirm")
    run_event(talk, *CYCLE_S, clip="000004.flac")
    talk.says("negative", start)
    run_event(talk, *CYCLE_S, clip="000005.flac")
    talk.says("affirm", "withdraw run two", "affirm")
    return talk


def test_each_run_says_what_became_of_it(timed):
    runs = record_of(journal(timed)).runs

    assert [(run.nth, run.outcome, run.run, run.clip) for run in runs] == [
        (1, "filed", 1, "000001.flac"),
        (2, "cancelled", None, "000002.flac"),
        (3, "in doubt", None, "000003.flac"),
        (4, "not filed", None, "000004.flac"),
        (5, "withdrawn", 2, "000005.flac"),
    ]
    assert [run.cancelled for run in runs] == [False, True, False, False, False]
    assert runs[2].problems[0].startswith("1 missing among: starts to move")


def test_a_run_carries_marks_words_times_and_the_readings_made_of_them(timed):
    events = journal(timed)
    run = record_of(events).runs[0]

    assert [mark.at_s for mark in run.marks] == list(CYCLE_S)
    assert [mark.word for mark in run.marks] == ["go", None, None, None, None, "shut"]
    opening = run.times[0]
    assert (opening.quantity, opening.seconds) == (Quantity.OPENING_TIME, 4.2)
    assert opening.doubt_s == pytest.approx((2 * 0.01**2 + 0.10**2) ** 0.5, abs=1e-4)
    accepted = {e.body.reading.id for e in events if isinstance(e.body, ev.ReadingAccepted)}
    assert {each.reading_id for each in run.times} <= accepted


def test_the_summary_names_the_runs_and_their_clips(timed):
    summary = summarize(journal(timed))
    text = " ".join(summary_text(summary).split())

    assert len(summary.runs) == 5
    assert "left leaf, run 1 of attempt 1 (000001.flac), filed. Times: opening time 4.20" in text
    assert "starts to move 'go' 1.000 ± 0.020 s" in text
    assert "left leaf, start 3 (000003.flac), in doubt: 1 missing among" in text


def test_a_run_of_both_leaves_says_the_leaf_of_each_mark_and_time(talk):
    talk.state = talk.state.model_copy(update={"times_by_ear": True})
    talk.go_to("opening-time:left leaf")
    words = ("go", "check", "open", "closing", "ten", "shut")
    labels = [
        Label(word=word, start_s=at + late, leaf=leaf)
        for at, word in zip(CYCLE_S, words, strict=True)
        for late, leaf in ((0.0, Subject.LEFT_LEAF), (0.9, Subject.RIGHT_LEAF))
    ]
    talk.says("start the clock both leaves together")
    at_s = [label.start_s for label in labels]
    run_event(talk, *at_s, clip="000009.flac", leaf=Subject.BOTH_LEAVES, labels=tuple(labels))
    talk.says("affirm")

    events = journal(talk)
    (run,) = record_of(events).runs

    assert (run.leaf, run.outcome, len(run.times)) == (Subject.BOTH_LEAVES, "filed", 10)
    assert [mark.leaf for mark in run.marks] == [label.leaf for label in labels]
    assert all(each.reading_id for each in run.times)
    text = " ".join(summary_text(summarize(events)).split())
    assert "both leaves, run 1 of attempt 1 (000009.flac), filed. Times: left leaf opening" in text
    assert "right leaf latched 'shut' 21.000" in text
    title = run_view(run, NoSound()).title
    assert "; left leaf opening time 4.20 s, " in title
    assert "; right leaf opening time 4.20 s, " in title
    picture = run_svg(np.zeros(22 * 16000, np.int16), run)
    assert "left leaf, latched 20.10 s" in picture
    assert "right leaf, latched 21.00 s" in picture
