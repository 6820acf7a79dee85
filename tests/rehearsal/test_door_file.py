"""Door files: the shipped ones move and keep the limits, impossible ones are refused with a
line.
"""

from __future__ import annotations

import pytest

from handsfree.errors import RehearsalError
from handsfree.rehearsal.door import Door
from handsfree.rehearsal.door_file import SHIPPED, load_door, parse_door, shipped_doors

TEXT = (SHIPPED / "entry-single.toml").read_text(encoding="utf-8")


@pytest.mark.slow
@pytest.mark.parametrize("name", shipped_doors())
def test_a_shipped_door_is_in_order(name):
    door = Door(load_door(name))
    for side in door.sides:
        cycle = door.truth(side)
        assert cycle.end == "shut"
        assert cycle.opening_peak_j < 1.69 and cycle.closing_peak_j < 1.69
        assert cycle.opening_time_s > 3.2 and cycle.closing_time_s > 3.2
        assert cycle.hold_open_time_s > 5.2
        assert cycle.latching_time_s > 1.7
        assert door.stall_n(side, "opening") < 67 and door.stall_n(side, "closing") < 67
        assert door.sensor_acts(side)


def test_it_says_that_it_is_a_rehearsal_and_keeps_what_is_to_be_found_out():
    sheet = load_door("entry-single").sheet
    assert sheet.reference.startswith("REHEARSAL")
    assert "does not exist" in sheet.site
    (leaf,) = sheet.opening.leaves
    assert leaf.width is None and leaf.weight is None and leaf.hinge_side is None
    assert leaf.open_angle_deg == 95
    assert load_door("corridor-pair").sheet.opening.leaves[0].open_angle_deg is None


@pytest.mark.parametrize(
    ("old", "new", "reason"),
    [
        ('width = "32 in"', 'width = "320 in"', "a leaf width of 320 in is not plausible"),
        ('weight = "105 lb"', 'weight = "-4 lb"', "weight"),
        ("open_angle = 95", "open_angle = 400", "open_angle = 400 is out of range"),
        ("open_angle = 95", "open_angle = nan", "out of range"),
        ("friction_nm = 1.5", "friction_nm = -1", "friction_nm = -1 is out of range"),
        ("friction_nm = 1.5", 'friction_nm = "oil"', "'friction_nm' is not a number"),
        ("friction_nm = 1.5", "friktion_nm = 1.5", "unknown key 'friktion_nm'"),
        ("opening_speed = 10", "opening_speed = 50", "opening_speed = 50 is out of range"),
        ("opening_speed = 10", "opening_speed = 9.5", "is not a step of the scale"),
        ("opening_speed = 10", "", "'opening_speed' is missing"),
        ("backcheck_angle = 80", "backcheck_angle = 20", "backcheck_angle = 20 is out of range"),
        ('swing = "single"', 'swing = "same way"', "too few [[leaf]] tables"),
        ('swing = "single"', 'swing = "sideways"', "unknown swing 'sideways'"),
        ('side = "near"', 'side = "far"', "has no [[sign]] on the near side"),
        ('name = "right"', 'name = "middle"', "unknown name 'middle'"),
        ("[door]", "[doors]", "unknown table 'doors'"),
        ("[[plate]]", "[[plate]", "is not valid TOML"),
    ],
)
def test_what_cannot_be_is_named_with_its_line(old, new, reason):
    assert old in TEXT
    with pytest.raises(RehearsalError) as caught:
        parse_door(TEXT.replace(old, new, 1), "odd.toml")
    assert reason in str(caught.value)
    assert str(caught.value).startswith("odd.toml, line ")
    at = TEXT.split(old)[0].count("\n") + 1
    if "is missing" not in reason and "[[" not in reason + new:
        assert caught.value.line == at


@pytest.mark.parametrize(
    ("controller", "reason"),
    [
        ("low = 9\nhigh = 3", "high = 3 is not above low = 9"),
        ("opening_speed = 3", "is not a gain with an offset"),
        ("opening_speed = { gain = 0, offset = 2 }", "opening_speed: gain = 0 is out of range"),
        (
            "opening_speed = { gain = true, offset = 2 }",
            "the gain of opening_speed is not a number",
        ),
        ("closing_force = { gain = 5, offset = 5000 }", "closing_force: offset = 5000"),
        ("scatter = 0.4", "scatter = 0.4 is out of range"),
    ],
)
def test_a_controller_that_cannot_be(controller, reason):
    with pytest.raises(RehearsalError) as caught:
        parse_door(f"{TEXT}\n[controller]\n{controller}\n", "odd.toml")
    assert reason in str(caught.value)


@pytest.mark.parametrize(
    ("fault", "reason"),
    [
        ('name = "rust"', "unknown name 'rust'"),
        ('name = "motors swapped"', "this door cannot have the fault 'motors swapped'"),
        ('name = "leaf binds"\non = "left leaf"', "unknown on 'left leaf'"),
    ],
)
def test_a_fault_that_it_cannot_have(fault, reason):
    with pytest.raises(RehearsalError, match=reason.replace("'", ".")):
        parse_door(f"{TEXT}\n[[fault]]\n{fault}\n", "odd.toml")


def test_a_fault_in_the_file_is_there():
    spec = parse_door(f'{TEXT}\n[[fault]]\nname = "leaf binds"\n', "odd.toml")
    assert [(fault.name, fault.subject) for fault in spec.faults] == [("leaf binds", "right leaf")]


def test_no_such_door_names_those_that_there_are(tmp_path):
    with pytest.raises(RehearsalError, match="shipped: clinic-single"):
        load_door(tmp_path / "none.toml")
