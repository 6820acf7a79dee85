from pathlib import Path

import pytest

from handsfree.errors import JobError
from handsfree.job.opening import Lock, Side, Swing, WeightSource
from handsfree.job.unit import Measure, Unit
from handsfree.job_file.loader import parse_sheet

SINGLE = """[job]
reference = "T-1"
site = "a test"
technician = "nobody"

[opening]
name = "side door"
seen_from = "corridor"
swing = "single"
lock = "latch"

[[leaf]]
name = "right"
width = "36 in"
weight = "68 kg"
weight_source = "scale"
backcheck_angle_deg = 75
"""
PAIR = SINGLE.replace('"single"', '"same way"') + '\n[[leaf]]\nname = "left"\n'


def test_a_single_leaf() -> None:
    sheet = parse_sheet(SINGLE, "t.toml")
    (leaf,) = sheet.opening.leaves
    assert sheet.opening.swing is Swing.SINGLE
    assert sheet.opening.lock is Lock.LATCH
    assert leaf.width == Measure(value="36", unit=Unit.INCH)
    assert leaf.weight == Measure(value="68", unit=Unit.KILOGRAM)
    assert leaf.weight_source is WeightSource.SCALE
    assert leaf.backcheck_angle_deg == 75


def test_the_motor_of_a_single_leaf_is_on_it() -> None:
    (motor,) = parse_sheet(SINGLE, "t.toml").opening.motors
    assert motor.leaf is Side.RIGHT
    assert motor.hand is None


def test_the_motors_of_a_pair_are_to_be_traced_and_leaves_stand_left_first() -> None:
    opening = parse_sheet(PAIR, "t.toml").opening
    assert [leaf.name for leaf in opening.leaves] == [Side.LEFT, Side.RIGHT]
    assert [(motor.number, motor.leaf) for motor in opening.motors] == [(1, None), (2, None)]


def test_what_is_fitted_is_told_and_left_out_where_it_is_not() -> None:
    fitted = SINGLE.replace('lock = "latch"', "power_fail_spring = true\nvestibule = true")
    opening = parse_sheet(fitted, "t.toml").opening
    assert opening.power_fail_spring and opening.vestibule
    plain = parse_sheet(SINGLE, "t.toml").opening
    assert not plain.power_fail_spring and not plain.vestibule


def test_a_bare_number_takes_the_unit_of_the_sheet() -> None:
    metric = SINGLE.replace('"nobody"', '"nobody"\nunits = "metric"').replace('"36 in"', "914.5")
    (leaf,) = parse_sheet(metric, "t.toml").opening.leaves
    assert leaf.width == Measure(value="914.5", unit=Unit.MILLIMETRE)


def test_the_example_in_the_guide_is_right() -> None:
    path = Path(__file__).parents[2] / "docs" / "examples" / "harbour-hall.job.toml"
    sheet = parse_sheet(path.read_text(encoding="utf-8"), path)
    assert sheet.opening.swing is Swing.SAME_WAY
    assert all(leaf.width is None for leaf in sheet.opening.leaves)


@pytest.mark.parametrize(
    ("old", "new", "line", "said"),
    [
        ('"T-1"', '"T-1', 2, "not valid TOML"),
        ("technician", "technicain", 4, "did you mean 'technician'?"),
        ("[opening]", "[openning]", 6, "'opening'"),
        ('name = "side door"', "name = 3", 7, "'name' is not text"),
        ('"single"', '"singel"', 9, "did you mean 'single'?"),
        ('"single"', '"same way"', 9, "contradict"),
        ('lock = "latch"', "sensors = 1", 10, "neither true nor false"),
        ('"36 in"', '"360 in"', 14, "leave it out if it is unknown"),
        ('"36 in"', '"36 lb"', 14, "give one of: in, ft, mm, cm, m"),
        ('"36 in"', "true", 14, "not a number with a unit"),
        ('"68 kg"', '"heavy"', 15, "not a number with a unit"),
        ('"scale"', '"guess"', 16, "known: label, scale, estimate"),
        ("= 75", "= 7", 17, "backcheck angle of 7 deg is not plausible"),
        ("= 75", "= 75\n[[motor]]\nnumber = 3", 19, "use 1 or 2"),
        ("= 75", '= 75\n[[motor]]\nleaf = "left"', 19, "there is none"),
        ("= 75", "= 75\n[[motor]]\n[[motor]]", 19, "more motors than leaves"),
    ],
)
def test_a_fault_is_named_with_its_line(old: str, new: str, line: int, said: str) -> None:
    assert old in SINGLE
    with pytest.raises(JobError) as caught:
        parse_sheet(SINGLE.replace(old, new, 1), "t.toml")
    assert caught.value.line == line
    assert said in str(caught.value)


@pytest.mark.parametrize(
    ("more", "line", "said"),
    [
        ('[[leaf]]\nname = "left"', 22, "two leaves are named 'left'"),
        ('[[motor]]\nleaf = "left"\n[[motor]]\nleaf = "left"', 23, "both motors are on one leaf"),
        ("[[motor]]\nnumber = 2\n[[motor]]", 23, "two motors have the number 2"),
    ],
)
def test_what_contradicts_itself_is_named(more: str, line: int, said: str) -> None:
    with pytest.raises(JobError) as caught:
        parse_sheet(PAIR + more, "t.toml")
    assert caught.value.line == line
    assert said in str(caught.value)


PARTS = """
[[leaf.part]]
name = "panel"
near_edge = 0
width = 32
height = "84 in"
areal_weight = "6 lb/ft2"

[[leaf.part]]
name = "lock stile"
near_edge = 32
width = 4
weight = "38 lb"
"""
MADE_OF = """
[leaf.construction]
kind = "hollow metal"
core = "honeycomb"
gauge = 18
"""


def test_a_leaf_of_parts_and_one_that_tells_what_it_is_made_of() -> None:
    (parts,) = parse_sheet(SINGLE + PARTS, "t.toml").opening.leaves
    panel, stile = parts.parts
    assert (panel.width.unit, stile.weight) == (Unit.INCH, Measure(value="38", unit=Unit.POUND))
    (made,) = parse_sheet(SINGLE + MADE_OF, "t.toml").opening.leaves
    assert made.construction is not None and made.construction.kind == "hollow_metal"


def test_a_pane_in_aluminium_takes_the_units_of_the_sheet() -> None:
    frame = """
[leaf.construction]
kind = "aluminium"
stile = 100
top_rail = 100
bottom_rail = 250
depth = 45
wall = 3
glass = "6 mm"
"""
    metric = SINGLE.replace('"nobody"', '"nobody"\nunits = "metric"')
    (leaf,) = parse_sheet(metric + frame, "t.toml").opening.leaves
    assert leaf.construction is not None and leaf.construction.kind == "aluminium"
    assert leaf.construction.stile == Measure(value="100", unit=Unit.MILLIMETRE)


@pytest.mark.parametrize(
    ("more", "old", "new", "at", "said"),
    [
        (PARTS, "near_edge = 32", "near_edge = 40", "[[leaf.part]]", "reaches 44.00 in"),
        (PARTS, '"38 lb"', '"380 lb"', "[[leaf.part]]", "the parts weigh"),
        (PARTS, "6 lb/ft2", "six", "areal_weight", "not an areal weight"),
        (PARTS, "width = 4", 'width = "4 lb"', 'width = "4 lb"', "no unit of length"),
        (MADE_OF, "gauge = 18", "gauge = 20", "gauge", "expected 16 or 18"),
        (MADE_OF, "gauge = 18", "gauge = 18\nwall = 3", "wall", "does not belong to this kind"),
        (MADE_OF, "honeycomb", "paper", "core", "'core': expected"),
        (MADE_OF, "hollow metal", "paper", "kind", "known: hollow metal, solid wood"),
        (MADE_OF, 'core = "honeycomb"', "", "[leaf.construction]", "'core' is missing"),
        ("open_angle_deg = 300\n", "", "", "open_angle_deg", "from 70 deg to 180 deg"),
    ],
)
def test_what_a_leaf_is_made_of_is_checked_with_its_line(
    more: str, old: str, new: str, at: str, said: str
) -> None:
    text = SINGLE + more.replace(old, new, 1)
    with pytest.raises(JobError) as caught:
        parse_sheet(text, "t.toml")
    assert said in str(caught.value)
    lines = [number for number, line in enumerate(text.splitlines(), 1) if line.startswith(at)]
    assert caught.value.line == lines[0]


@pytest.mark.parametrize(
    ("key", "value"),
    [
        ("width", '"0.5 in"'),
        ("width", "nan"),
        ("width", "-36"),
        ("width", '"wide"'),
        ("weight", '"5000 lb"'),
        ("weight", "inf"),
    ],
)
def test_an_absurd_size_is_named_with_what_is_plausible(key: str, value: str) -> None:
    given = {"width": '"36 in"', "weight": '"68 kg"'}
    plausible = {"width": "from 18 in to 60 in", "weight": "from 30 lb to 700 lb"}
    with pytest.raises(JobError, match=plausible[key]) as caught:
        parse_sheet(SINGLE.replace(given[key], value), "t.toml")
    assert caught.value.line == {"width": 14, "weight": 15}[key]
