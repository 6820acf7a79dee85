"""Asking for the place of a fault that was named without one."""

from __future__ import annotations

import pytest

from handsfree.dialogue.questions.fault_found import FaultFoundQuestion
from handsfree.dialogue.questions.fault_place import FaultPlaceQuestion

from ...talk import Talk

QUESTION = FaultPlaceQuestion


def ask(talk: Talk) -> None:
    talk.says("i found arm loose")


@pytest.mark.parametrize(
    ("said", "side", "read_back"),
    [
        ("i found arm loose", "left", "Left leaf, arm loose. Yes or no?"),
        ("i found arm loose", "right leaf", "Right leaf, arm loose. Yes or no?"),
        ("i found a dead plate", "right", "Right plate, plate dead. Yes or no?"),
    ],
)
def test_the_side_completes_it(talk, said, side, read_back):
    assert talk.says(said)[0].endswith("left or right?")
    assert talk.says(side) == [read_back]
    assert isinstance(talk.state.pending, FaultFoundQuestion)


def test_both_is_no_place_of_one_fault(talk):
    ask(talk)
    before = talk.state.pending
    talk.says("both")
    assert talk.state.pending == before


def test_a_motor_that_is_not_there_is_refused(talk):
    talk.says("i found the left plate dead", "negative")
    assert talk.state.progress.faults == ()
