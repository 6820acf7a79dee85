"""Verdicts of readings affirmed together: with names, and equal ones in one sentence."""

from __future__ import annotations

import pytest

from handsfree.dialogue import state_machine
from handsfree.dialogue.state import CycleHeard
from handsfree.job.job import Job, Sheet
from handsfree.job.opening import Leaf, Side
from tests.dialogue.test_stopwatch import CYCLE_S, LEFT_OPENING, marks
from tests.talk import SHEET

TOO_QUICK_S = (1.0, 3.0, 7.1, 13.6, 18.0, 20.1)


@pytest.fixture
def timed(talk):
    talk.state = talk.state.model_copy(update={"times_by_ear": True})
    talk.go_to(LEFT_OPENING)
    return talk


def run(talk, *at_s: float) -> list[str]:
    """What is said after the times of a run were affirmed."""
    talk.says("start the clock left leaf")
    heard = CycleHeard(marks=marks(*at_s), clip="000042.flac")
    talk._take(state_machine.answer(talk.state, heard, talk.now_s))
    return talk.says("affirm")


def knows(talk, *sides: Side, **of_leaf: object) -> None:
    """Adds values of these leaves to the job file."""
    leaves = [
        leaf.model_dump() | (of_leaf if leaf.name in sides else {}) for leaf in SHEET.opening.leaves
    ]
    opening = SHEET.opening.model_copy(update={"leaves": tuple(map(Leaf.model_validate, leaves))})
    sheet = Sheet.model_validate(SHEET.model_dump() | {"opening": opening.model_dump()})
    progress = talk.state.progress
    job = progress.job.model_copy(update={"sheet": sheet, "opening": Job.open(sheet).opening})
    talk.state = talk.state.model_copy(
        update={"progress": progress.model_copy(update={"job": job})}
    )


def test_one_reading_has_its_verdict_alone(timed):
    assert timed.says("four point two", "affirm")[0] == "Pass."


def test_a_run_that_passes_is_one_sentence(timed):
    assert run(timed, *CYCLE_S) == ["All pass.", "Opening time of the right leaf."]


def test_what_fails_is_told_first_and_what_passes_by_its_name(timed):
    time, energy, passed = sorted(run(timed, *TOO_QUICK_S)[:3])
    assert time.startswith("Fail. The opening time of the left leaf is 2 seconds")
    assert energy.startswith("Fail. Too much energy in the left leaf opening: 3.41,")
    assert passed == (
        "Pass: left leaf, total opening time, hold open time, closing time, latching time."
    )


def test_the_same_reason_for_no_verdict_is_said_once(timed):
    knows(timed, *Side, width=None, weight=None)
    spoken = run(timed, *CYCLE_S)
    reason = "The width and the weight of the left leaf are needed first."
    unjudged = [text for text in spoken if reason in text]
    assert len(unjudged) == 1
    assert unjudged[0].startswith("Not judged: left leaf, opening time, ")
    assert "hold open time" not in unjudged[0]
    assert "Pass: left leaf, hold open time, latching time." in spoken


def test_a_reading_for_both_leaves_is_one_verdict_of_both(timed):
    assert timed.says("both leaves four point two", "affirm")[0] == "All pass."


def test_a_leaf_that_fails_beside_one_that_passes_is_told_apart(timed):
    spoken = timed.says(
        "left leaf opening time two seconds and right leaf opening time four point two", "affirm"
    )
    assert any(text.startswith("Fail. The opening time of the left leaf") for text in spoken)
    assert "Pass: right leaf, opening time." in spoken


def test_the_step_at_hand_is_ruled_by_its_own_leaf(timed):
    """4.2 s are enough for 150 lb, and not for 400 lb."""
    knows(timed, Side.RIGHT, weight={"value": 400, "unit": "lb"})
    spoken = timed.says("both leaves four point two", "affirm")
    assert "Pass: left leaf, opening time." in spoken
    assert any(text.startswith("Fail. The opening time of the right leaf") for text in spoken)
    assert timed.state.progress.ended[LEFT_OPENING] == "done"
    timed.go_to("opening-time:right leaf")


def test_a_reading_without_any_limit_is_filed_by_its_name(timed):
    spoken = timed.says(
        "left leaf opening time four point two and left leaf weight one hundred fifty pounds",
        "affirm",
    )
    assert spoken[:2] == ["Pass: left leaf, opening time.", "Filed: left leaf, leaf weight."]


def test_what_a_later_reading_of_the_same_breath_decides_is_told_as_decided(timed):
    knows(timed, *Side, backcheck_angle_deg=None)
    timed.says("left leaf opening time four point two and left leaf backcheck eighty")
    assert timed.says("affirm")[0] == "All pass."
