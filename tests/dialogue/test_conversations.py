"""Random conversations: nothing unaffirmed is filed, and replay gives the same state."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st

from handsfree.dialogue.progress import Progress, apply
from handsfree.dialogue.state import PendingReading
from handsfree.job.job import Job
from handsfree.journal import events as ev

from ..talk import SHEET

UTTERANCES = [
    *("affirm", "yes", "negative", "no", "clear", "done", "next", "skip", "go back"),
    *("disregard", "say again", "stand by", "carry on", "stop", "withdraw that", "help", "why"),
    *("what is left", "what is the limit", "where am i", "how do you read", "note"),
    *("left hand", "right hand", "in order", "not in order", "left leaf", "right leaf"),
    *("motor two right hand", "motor one left hand", "read back all", "start the clock left leaf"),
    *("six point two", "left leaf opening time two point one", "sixty two", "open time five"),
    *("both leaves hold open time six", "right leaf opening time three point six"),
    *("correction three point nine", "opening time four", "opening force ten pounds"),
    *("left leaf opening time six kilograms", "nice weather today", "note the closer leaks"),
]


@given(lines=st.lists(st.sampled_from(UTTERANCES), max_size=60))
@settings(max_examples=300)
def test_only_what_was_read_back_and_affirmed_is_filed_and_replay_agrees(new_talk, lines):
    talk = new_talk()
    for line in lines:
        pending = talk.state.pending
        before = talk.state.progress.accepted
        talk.says(line)
        filed = talk.state.progress.accepted - before
        if filed:
            assert line in ("affirm", "yes")
            assert isinstance(pending, PendingReading)
            assert filed == len(pending.subjects)
            for reading in talk.state.progress.job.readings[-filed:]:
                assert (reading.value, reading.unit) == (pending.value, pending.unit)
        if talk.state.progress.closed:
            break
    replayed = Progress(job=Job.open(SHEET))
    for body in talk.kept:
        replayed = apply(replayed, body)
    assert replayed == talk.state.progress


@given(lines=st.lists(st.sampled_from(UTTERANCES), max_size=40))
@settings(max_examples=100)
def test_from_every_state_there_is_a_way_to_the_end(new_talk, lines):
    talk = new_talk()
    talk.says(*lines)
    for _ in range(200):
        if talk.state.progress.closed:
            break
        if talk.state.progress.standing_by:
            talk.says("carry on")
        talk.says("disregard", "clear", "skip", "disregard", "done", "skip", "no time")
        talk.says("in order", "affirm", "left hand", "affirm", "it grinds")
    assert talk.state.progress.closed


def test_every_filed_reading_is_judged_when_a_limit_belongs_to_it(talk):
    talk.go_to("opening-time:left leaf")
    talk.says("six point two", "affirm")
    (judged,) = talk.of(ev.Judged)
    assert {finding.reading_id for finding in judged.findings} == {"r1"}
