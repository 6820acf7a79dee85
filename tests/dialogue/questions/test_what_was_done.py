"""Asking what was done about a fault."""

from __future__ import annotations

import pytest

from handsfree.dialogue.questions.fault_proof import FaultProofQuestion
from handsfree.dialogue.questions.what_was_done import WhatWasDoneQuestion
from handsfree.journal import events as ev
from handsfree.journal.fault_events import FaultProved, FaultWorked
from handsfree.visit_record.progress import replay

from ...talk import Talk

QUESTION = WhatWasDoneQuestion
ASKED = "Left leaf, swings freely, not OK. What was done: adjusted, repaired, replaced, or nothing?"


def ask(talk: Talk) -> None:
    """A left leaf that was found not OK, and the same step now answered 'OK'."""
    talk.go_to("swings-free:left leaf")
    talk.says("not in order", "affirm", "it rubs", "go back", "in order", "affirm")


@pytest.fixture
def asked(talk) -> Talk:
    ask(talk)
    return talk


def fault(talk: Talk, key: str = "left leaf/swings_freely"):
    (life,) = [life for life in talk.state.progress.faults if life.key == key]
    return life


def test_a_step_in_order_after_a_fault_asks_what_was_done(talk):
    talk.go_to("swings-free:left leaf")
    talk.says("not in order", "affirm", "it rubs", "go back", "in order")
    assert talk.says("affirm") == [ASKED]
    assert talk.says("adjusted") == ["Adjusted.", "Swing the right leaf."]
    life = fault(talk)
    assert not life.open and (life.words, life.work, life.proved) == (
        "it rubs",
        "adjusted",
        "observation",
    )


@pytest.mark.parametrize(
    ("said", "work", "part"),
    [
        ("adjusted", "adjusted", None),
        ("fixed it", "repaired", None),
        ("i cleaned it", "cleared", None),
        ("replaced the guide rail", "replaced", "guide_rail"),
        ("put right", "put_right", None),
    ],
)
def test_the_work_is_kept_with_its_part(asked, said, work, part):
    asked.says(said)
    (done,) = asked.of(FaultWorked)
    assert (done.key, done.work, done.part) == ("left leaf/swings_freely", work, part)
    assert asked.state.progress.ended["swings-free:left leaf"] == "done"


@pytest.mark.parametrize("said", ["nothing", "nothing was done"])
def test_nothing_done_leaves_it_open(asked, said):
    assert asked.says(said)[0] == "It stays on the list."
    assert fault(asked).open


def test_a_fault_found_by_mistake_stays_in_the_record(asked):
    asked.says("found by mistake")
    life = fault(asked)
    assert not life.open and ("done", "found by mistake") in life.steps


@pytest.mark.parametrize("word", ["disregard", "affirm", "negative"])
def test_after_in_order_it_cannot_be_dropped(asked, word):
    before = asked.state.pending
    assert asked.says(word) == [ASKED]
    assert asked.state.pending == before


def test_both_in_order_asks_for_each_fault(talk):
    talk.go_to("swings-free:left leaf")
    talk.says("not in order", "affirm", "it rubs")
    talk.says("not in order", "affirm", "it rubs too", "go back", "both leaves in order")
    assert talk.says("affirm") == [ASKED]
    assert talk.says("adjusted")[-1].startswith("Right leaf, swings freely, not OK. What was done")
    talk.says("nothing")
    assert not fault(talk).open
    assert fault(talk, "right leaf/swings_freely").open


def test_an_observation_does_not_wipe_a_fault_that_was_named(talk):
    talk.says("i found the left leaf binds", "i found the left leaf binding", "affirm")
    talk.says("i found leaf binds on the left leaf", "affirm")
    talk.go_to("swings-free:left leaf")
    talk.says("both leaves in order")
    assert talk.says("affirm")[0].startswith("Left leaf, leaf binds. What was done")
    talk.says("replaced the hinge")
    (proved,) = talk.of(FaultProved)
    assert (proved.key, proved.by) == ("left leaf/leaf_binds", "observation")


def test_outside_a_step_it_can_be_dropped(talk):
    talk.says("i found sensor blind", "affirm", "put right")
    assert isinstance(talk.state.pending, WhatWasDoneQuestion)
    talk.says("disregard")
    assert talk.state.pending is None and talk.state.progress.faults[0].open


def test_outside_a_step_the_proof_is_asked_for(talk):
    talk.says("i found sensor blind", "affirm", "put right", "replaced the sensor")
    assert isinstance(talk.state.pending, FaultProofQuestion)


def test_a_break_before_the_answer_keeps_the_fault(asked):
    opened = ev.VisitOpened.model_construct(sheet=asked.state.progress.job.sheet)
    progress = replay([opened, *asked.kept])
    assert progress.faults == asked.state.progress.faults
    asked.state = asked.state.model_copy(update={"progress": progress, "pending": None})
    asked.resumes()
    assert fault(asked).unexplained
    assert asked.says("in order", "affirm") == [ASKED]
