"""A simulated controller shows what its guide says, and reveals every wrong entry."""

from __future__ import annotations

from random import Random

import pytest

from handsfree.controllers.guide_loader import load_guide
from handsfree.job.job import Job
from handsfree.language.wording import wording
from handsfree.rehearsal.controller_hands import ControllerHands
from handsfree.rehearsal.simulated_controller import SimulatedController

from ..bench.controllers import visit
from ..guided import DOOR
from ..talk import SHEET


def controller(name: str = "heron") -> SimulatedController:
    return SimulatedController(
        load_guide(name), Job.open(SHEET.model_copy(update={"opening": DOOR}))
    )


def set_right(one: SimulatedController) -> None:
    for entry, value in one.right.items():
        one.enter(entry, value)


def test_it_shows_the_value_that_was_entered_right_or_wrong():
    one = controller()
    assert one.enter("hand-one", "one") == "A1"
    assert one.enter("hand-one", "four") == "A4"
    assert controller("thistle").enter("hand-one", "up") is None


def test_nothing_counts_before_it_is_kept():
    one = controller()
    set_right(one)
    assert one.wrong == one.right.keys()
    assert one.learn() == "N4" and not one.learned
    assert one.do("keep") == "JJ"
    assert not one.wrong and one.learn() == "GG" and one.learned


def test_a_wrong_hand_a_blocked_leaf_and_a_broken_cycle_have_their_codes():
    one = controller()
    set_right(one)
    one.enter("hand-two", "one")
    one.do("keep")
    assert one.learn(blocked=True) == "N2"
    one.enter("hand-two", "four")
    one.do("keep")
    assert one.learn(blocked=True) == "N3"
    assert one.learn(breaks_off=True) == "N6"
    assert one.learn() == "GG"


def test_the_hands_know_nothing_but_what_was_said():
    hands = ControllerHands(controller(), wording(), Random(1), set(), looks=1)
    assert hands.answer(["Time the left leaf."]) is None
    said = "Motor one is left hand. Entry three, set it to one. The display shows alpha one."
    assert hands.answer([said]) == "it shows alpha one"
    assert hands.controller.entered == {"hand-one": "one"}


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(6))
def test_in_a_visit_with_mistakes_each_is_named_and_nothing_is_left_wrong(seed):
    visited = visit(seed)
    assert visited.learned and not visited.wrong and not visited.unnamed
