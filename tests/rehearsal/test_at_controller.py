"""A rehearsed visit in which a simulated controller is set up by its spoken guide."""

from __future__ import annotations

from random import Random

import pytest

from handsfree.controllers.guide_loader import load_guide, shipped_guides
from handsfree.errors import RehearsalError
from handsfree.job.opening import Side
from handsfree.journal.reader import read
from handsfree.rehearsal.at_controller import AtController, true_job
from handsfree.rehearsal.controller_hands import MISTAKES
from handsfree.rehearsal.door import Door
from handsfree.rehearsal.door_file import SHIPPED, load_door, parse_door
from handsfree.rehearsal.faults import add_fault, make_fault
from handsfree.rehearsal.outcome import outcome_of
from handsfree.rehearsal.rehearsal import Rehearsal
from handsfree.rehearsal.technician_profile import CAREFUL


@pytest.mark.slow
@pytest.mark.parametrize("name", shipped_guides())
def test_every_mistake_at_the_controller_is_cured_before_the_visit_goes_on(
    name, language, tmp_path
):
    """The hands do what is said aloud; each mistake is made once, and shows."""
    manner = CAREFUL.model_copy(update={"at_controller": 1.0})
    rehearsal = Rehearsal(
        load_door("clinic-single"), guide=load_guide(name), manner=manner, language=language
    )
    progress = rehearsal.run(tmp_path / "visit")
    ended = outcome_of(rehearsal, progress, read(tmp_path / "visit"))
    assert ended.closed and ended.controller is not None
    assert set(ended.controller.made) == set(MISTAKES)
    assert ended.controller.wrong == () and ended.controller.learned
    assert progress.controller.entries["learn"].outcome == "made"


def test_the_controller_stands_at_the_door_as_it_is(language):
    """The office does not know the motors; the controller's right values are those of the door."""
    spec = load_door("corridor-pair")
    assert [motor.hand for motor in spec.sheet.opening.motors] == [None, None]
    one, two = true_job(Door(spec, 1)).opening.motors
    assert (one.leaf, one.hand, two.leaf, two.hand) == (
        Side.LEFT,
        Side.LEFT,
        Side.RIGHT,
        Side.RIGHT,
    )


def test_motors_that_are_swapped_are_swapped_at_the_controller_too(language):
    spec = load_door("corridor-pair")
    spec = add_fault(spec, make_fault(spec, "motors swapped", Random(1)))
    one, two = true_job(Door(spec, 1)).opening.motors
    assert (one.leaf, two.leaf) == (Side.RIGHT, Side.LEFT)


@pytest.fixture
def at(language) -> AtController:
    return AtController(
        load_guide("heron"), Door(load_door("clinic-single"), 1), language.wording, Random(1)
    )


def test_what_was_not_understood_is_said_again(at):
    guide = at.controller.guide
    first = at.answer((guide.set_up[0].say,), elsewhere=False)
    assert first is not None
    assert at.answer(("Say again.",), elsewhere=False) == first
    assert at.answer(("How wide is the left leaf?",), elsewhere=True) is None
    assert at.answer(("Say again.",), elsewhere=False) is None


def test_a_door_file_names_the_guide_of_its_controller(tmp_path):
    text = (SHIPPED / "clinic-single.toml").read_text(encoding="utf-8")
    named = text.replace("[door]", '[door]\ncontroller_guide = "heron"', 1)
    assert parse_door(named, tmp_path / "d.toml").sheet.controller_guide == "heron"
    with pytest.raises(RehearsalError, match="controller_guid"):
        parse_door(named.replace("controller_guide", "controller_guid"), tmp_path / "d.toml")
