"""A guide worked out for a door: the right value for every kind of door, or the missing one."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from handsfree.controllers.door_kinds import completed, holds, kinds_of_door
from handsfree.controllers.guide_loader import SHIPPED, load_guide, parse_guide
from handsfree.controllers.worked_out import open_cases, set_up_of
from handsfree.errors import ControllerError
from handsfree.job.handing import contradictions
from handsfree.job.job import Fact, Job, Sheet
from handsfree.job.opening import Lock, Side, Swing
from handsfree.job.reading import Subject

from ..dialogue.technician import opening

HERON = (SHIPPED / "en" / "heron.toml").read_text(encoding="utf-8")


def job(swing: Swing = Swing.SAME_WAY, everything: bool = False) -> Job:
    door = opening(swing, everything)
    return Job.open(Sheet(reference="T", site="a test", technician="nobody", opening=door))


def values(name: str, door: Job) -> dict[str, str]:
    return {
        each.step.id: each.value.say if each.value is not None else each.state
        for each in set_up_of(load_guide(name), door)
    }


def test_every_value_follows_from_the_door():
    door = job(Swing.SAME_WAY, everything=True)
    for subject, leaf, hand in (
        (Subject.MOTOR_ONE, "right", "right"),
        (Subject.MOTOR_TWO, "left", "left"),
    ):
        door = door.with_fact(Fact(subject=subject, name="leaf", value=leaf))
        door = door.with_fact(Fact(subject=subject, name="hand", value=hand))
    assert values("heron", door) == {
        "open-up": "action",
        "door-type": "five",
        "leaf-of-one": "six",
        "hand-one": "four",
        "hand-two": "one",
        "lock": "nine",
        "unlock-delay": "three",
        "closing-order": "eight",
        "sensors": "six",
        "fire-contact": "four",
        "keep": "action",
    }


def test_a_single_leaf_has_no_entry_of_a_pair_and_what_is_not_known_is_asked_for():
    found = {each.step.id: each for each in set_up_of(load_guide("heron"), job(Swing.SINGLE))}
    assert not {"leaf-of-one", "hand-two", "closing-order"} & found.keys()
    assert (found["hand-one"].state, found["hand-one"].asks) == (
        "unknown", "motor one is left hand",
    )  # fmt: skip


def test_a_survey_that_finds_another_lock_changes_the_value():
    door = job(Swing.SINGLE)
    assert values("heron", door)["lock"] == "seven"
    door = door.with_fact(Fact(subject=Subject.OPENING, name="lock", value="strike"))
    assert values("heron", door)["lock"] == "nine"


@pytest.mark.parametrize("name", ["heron", "lantern", "thistle"])
def test_every_kind_of_door_has_exactly_one_value_for_each_entry(name):
    guide = load_guide(name)
    conditions = {condition for step in guide.set_up for condition in step.conditions}
    for kind in kinds_of_door(conditions):
        for each in set_up_of(guide, kind):
            assert each.state in ("action", "set"), (each.step.id, kind.opening)
            fit = [v.say for v in each.step.value if all(holds(c, kind) for c in v.when)]
            assert len(fit) == bool(each.step.value)


def test_the_kinds_of_door_are_all_possible_and_all_different():
    """Three swings with two pairs of hands each, three locks: 18 (counted by hand)."""
    kinds = list(kinds_of_door(["lock"]))
    assert len(kinds) == len({kind.opening.model_dump_json() for kind in kinds}) == 18
    assert not any(any(contradictions(kind.opening)) for kind in kinds)
    assert {kind.opening.lock for kind in kinds} == {Lock.NONE, Lock.LATCH, Lock.STRIKE}


@given(st.sampled_from(Swing), st.sampled_from([None, *Side]), st.sampled_from([None, *Side]))
def test_what_is_not_known_is_filled_in_in_every_way_that_can_be(swing, hand, leaf):
    door = job(swing)
    motor = door.opening.motors[0].model_copy(update={"hand": hand, "leaf": leaf})
    door = door.model_copy(update={"opening": door.opening.with_motor(motor)})
    found = list(completed(door))
    assert bool(found) is not any(contradictions(door.opening))
    for each in found:
        first = each.opening.motors[0]
        assert first.hand is not None and first.leaf is not None
        assert hand in (None, first.hand) and leaf in (None, first.leaf)


MISSING = HERON.replace('    { when = ["double_egress"], say = "eight", shows = "D8" },\n', "")


def test_a_kind_of_door_without_a_value_is_named():
    with pytest.raises(ControllerError, match="no value for: a pair, double egress"):
        parse_guide(MISSING, "mine.toml")


def test_the_open_cases_of_a_door_are_told_before_the_visit():
    guide = load_guide("heron")
    steps = tuple(
        step.model_copy(update={"value": step.value[:1]}) if step.id == "hand-one" else step
        for step in guide.set_up
    )
    guide = guide.model_copy(update={"set_up": steps})
    door = job(Swing.SINGLE)
    assert [step.id for step in open_cases(guide, door)] == ["hand-one"]
    left = door.with_fact(Fact(subject=Subject.MOTOR_ONE, name="hand", value="left"))
    assert open_cases(guide, left) == ()


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('when = ["not lock"]', 'when = ["lock"]', "no value for"),
        ('when = ["strike"]', 'when = ["lock"]', "has two values for"),
        ('when = ["single"], say = "two"', 'when = ["pair"], say = "two"', "no value for"),
        ('"motor one is left hand"', '"motor one is lefthand"', "did you mean 'motor one is left"),
        ('"motor one is left hand"', '"complaint is slams"', "unknown condition"),
    ],
)
def test_conditions_that_leave_a_door_open_or_do_not_exist_are_named(old, new, said):
    with pytest.raises(ControllerError, match=said):
        parse_guide(HERON.replace(old, new, 1), "mine.toml")
