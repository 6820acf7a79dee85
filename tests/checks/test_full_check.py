"""The whole check: the verdict line, as found and as left, and omissions."""

from __future__ import annotations

from decimal import Decimal

import pytest

from handsfree.checks.as_found_as_left import as_found
from handsfree.checks.full_check import check_job
from handsfree.job.finding import Verdict
from handsfree.job.leaf_part import Part
from handsfree.job.opening import Activation, Side
from handsfree.job.quantity import Quantity
from handsfree.job.reading import Subject
from handsfree.job.unit import Measure, Unit

from .conftest import a_job, read, with_leaf, with_opening


def adjusted():
    """Too fast as found, slowed, measured again; the width was read wrong at first."""
    job = read(a_job(), Quantity.LEAF_WIDTH, "30in")
    job = read(job, Quantity.LEAF_WIDTH, "36in", attempt=2)
    job = read(job, Quantity.OPENING_TIME, "2.9")
    return read(job, Quantity.OPENING_TIME, "4.2", attempt=2)


def test_as_found_and_as_left_stand_side_by_side_with_the_energy(a156):
    then = {change.rule: change for change in check_job(adjusted(), a156).changes}
    assert set(then) == {"opening time", "opening energy"}
    time, energy = then["opening time"], then["opening energy"]
    assert (time.as_found.reading, time.as_left.reading) == (Decimal("2.9"), Decimal("4.2"))
    assert (time.as_found.verdict, time.as_left.verdict) == (Verdict.FAIL, Verdict.PASS)
    assert energy.as_found.reading / energy.as_left.reading > 2


def test_a_leaf_that_was_measured_again_was_never_narrower():
    """A setting is as found and as left; a size that was read wrong was wrong."""
    (leaf,) = as_found(adjusted()).opening.leaves
    assert leaf.width.value == 36


def test_one_line_says_what_fails_what_is_open_and_what_is_only_recommended(a156):
    job = read(a_job(), Quantity.LATCHING_TIME, "1.0")
    job = read(job, Quantity.HOLD_OPEN_TIME, "5.1")
    job = read(job, Quantity.PLATE_HEIGHT, "50", subject=Subject.LEFT_PLATE)
    checked = check_job(job, a156)
    assert checked.verdict is Verdict.FAIL
    assert checked.line == (
        "Not OK: latching time. Too close to call: hold open time. 0 of 2 checks pass; "
        "not checked: opening time and 10 more. "
        "Not as recommended: plate height."
    )


def test_a_recommendation_alone_rules_nothing(a156):
    checked = check_job(
        read(a_job(), Quantity.PLATE_HEIGHT, "50", subject=Subject.LEFT_PLATE), a156
    )
    assert checked.verdict is None
    assert checked.line.startswith("Nothing was judged; not checked: opening time")
    assert checked.line.endswith("Not as recommended: plate height.")


def test_what_nobody_read_is_named(a156, en16005):
    job = read(a_job(), Quantity.LATCHING_TIME, "2")
    assert "closing force" in check_job(job, a156).not_read
    assert "plate height" not in check_job(job, a156).not_read
    assert "sign height" not in check_job(job, en16005).not_read
    full_energy = with_opening(job, activation=Activation.MOTION_SENSOR)
    assert check_job(full_energy, a156).not_read == ()


def test_a_reading_that_the_set_has_no_limit_for_is_listed(a156, en16005):
    job = read(a_job(), Quantity.TOTAL_OPENING_TIME, "5")
    job = read(job, Quantity.CYCLES, "10", subject=Subject.OPENING)
    listed = [(one.rule, one.reading) for one in check_job(job, en16005).no_limit]
    assert listed == [("total opening time", 5), ("number of cycles", 10)]
    assert [one.rule for one in check_job(job, a156).no_limit] == ["number of cycles"]


def test_what_one_run_cannot_say_is_said_once(a156):
    job = read(a_job(), Quantity.LATCHING_TIME, "3")
    job = read(job, Quantity.CLOSING_TIME, "5")
    told = [note for note in check_job(job, a156).notes if "a single run can't show" in note]
    assert len(told) == 1
    thrice = read(a_job(), Quantity.LATCHING_TIME, "3", "3", "3")
    assert check_job(thrice, a156).notes == ()


def test_the_set_in_force_stands_on_the_check(a156):
    checked = check_job(read(a_job(), Quantity.LATCHING_TIME, "2"), a156)
    assert (checked.limits, checked.limits_sha256) == (a156.name, a156.sha256)
    assert all(found.source.startswith("a156.19; ") for found in checked.findings)


@pytest.mark.parametrize(
    ("size", "words"),
    [
        (
            ("36in", "150lb"),
            "the left leaf, 36 in and 150 pounds from the label, takes at least 3.5 seconds by "
            "table (table 3.5, formula 3.32, physics 3.3)",
        ),
        (("36in", "190lb"), "4 seconds by formula (table has no such size, formula 3.73,"),
        (("24in", "60lb"), "3 seconds by floor (table has no such size, formula 1.4,"),
    ],
)
def test_the_least_time_says_which_of_three_ways_rules(a156, size, words):
    (time,) = check_job(a_job(*size), a156).least_times
    assert words in time.words


def test_parts_that_do_not_make_the_leaf_are_noted(a156):
    heavy = Part(
        name="panel",
        near_edge=Measure(value=Decimal(0), unit=Unit.INCH),
        width=Measure(value=Decimal(36), unit=Unit.INCH),
        weight=Measure(value=Decimal(300), unit=Unit.POUND),
    )
    job = with_leaf(a_job(), name=Side.LEFT, parts=(heavy,))
    note, one_run = check_job(read(job, Quantity.LATCHING_TIME, "2"), a156).notes
    assert one_run.startswith("a single run can't show how much the door varies")
    assert note == "left leaf: the parts weigh 300.0 lb together, and the leaf 150 lb"
