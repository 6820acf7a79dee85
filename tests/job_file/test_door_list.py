"""A row of a list becomes a job, or each of its faulty cells is named."""

from __future__ import annotations

from pathlib import Path

import pytest

from handsfree.errors import JobError
from handsfree.job.opening import Lock, Side, Swing
from handsfree.job.unit import Measure, Unit
from handsfree.job_file.door_list import DoorList, doors_of, unread_words

FILE = Path("doors.csv")


def listed(head: str, *rows: str) -> DoorList:
    return doors_of([line.split("|") for line in (head, *rows)], FILE)


def faults(head: str, *rows: str) -> list[str]:
    return [str(fault) for door in listed(head, *rows).doors for fault in door.faults]


def test_a_row_is_a_job():
    head = (
        "Door|Building|Date|Procedure|Swing|Width|Right-width|fire rated|LOCK|weight source|weight"
    )
    row = "north|Hall|2026-12-01|yearly-service|Double Egress|36|40 in|Yes|Panic-Hardware|Label|150"
    ((number, _, sheet),) = listed(head, row).doors
    opening = sheet.opening
    assert (number, opening.name, sheet.site, sheet.date) == (2, "north", "Hall", "2026-12-01")
    assert (sheet.procedure, opening.swing) == ("yearly-service", Swing.DOUBLE_EGRESS)
    assert (opening.fire_rated, opening.lock) == (True, Lock.PANIC_HARDWARE)
    widths = [leaf.width for leaf in opening.leaves]
    assert widths == [Measure(value=each, unit=Unit.INCH) for each in (36, 40)]
    assert "sensors" in opening.not_known  # a column that is missing is asked at the door


@pytest.mark.parametrize("head", ["width|right width", "right width|width"])
def test_what_is_said_of_one_leaf_comes_before_what_is_said_of_both(head):
    cells = "36|40" if head.startswith("width") else "40|36"
    ((_, _, sheet),) = listed(f"name|swing|{head}", f"a|same way|{cells}").doors
    assert [leaf.width.value for leaf in sheet.opening.leaves if leaf.width] == [36, 40]


def test_a_single_leaf_may_be_the_right_one():
    ((_, _, sheet),) = listed("name|swing|right width", "a|single|36").doors
    assert [leaf.name for leaf in sheet.opening.leaves] == [Side.RIGHT]


def test_every_wrong_cell_of_a_row_is_named_with_the_way_out():
    found = faults(
        "Door|swing|Width|sensors|date|lock|weight",
        "|single|300 in|maybe|1/2/26|lok|x lb",
    )
    assert len(found) == 6
    assert all(fault.startswith("doors.csv: row 2, column '") for fault in found)
    assert all(fault.endswith(")") for fault in found)
    for part in (
        "column 'Door': it is empty (name the door)",
        "column 'Width' '300 in': a leaf width of 300 in is not plausible",
        "column 'sensors' 'maybe': it is neither yes nor no",
        "column 'date' '1/2/26': it is not a day",
        "column 'lock' 'lok': unknown lock 'lok'",
        "column 'weight' 'x lb': 'x lb' is not a number with a unit of mass (for example 30 lb",
    ):
        assert any(part in fault for fault in found), part


@pytest.mark.parametrize(
    ("head", "row", "named"),
    [
        ("name|width", "a|36", "column 'width' '36': the row does not tell how many leaves"),
        ("name|swing|left width|right width", "a|single|36|36", "column 'swing' 'single'"),
        ("name|swing|width", "a|pair|36", "column 'swing' 'pair': unknown swing 'pair'"),
        ("name|date", "a|2026-02-30", "column 'date' '2026-02-30': 'date' is not a day"),
        ("name|language", "a|fr", "column 'language' 'fr'"),
        ("name|swing|left hinge side", "a|same way|right", "row 2: "),
    ],
)
def test_a_row_that_contradicts_itself_is_refused(head, row, named):
    (fault,) = faults(head, row)
    assert named in fault


@pytest.mark.parametrize(
    ("cell", "why"),
    [
        ("=HYPERLINK(1)", "it is a formula"),
        ("=1+1", "it is a formula"),
        ("\x1b[31mred", "it contains invisible characters"),
        ("a\x00b", "it contains invisible characters"),
        ("left\u202eright", "it contains invisible characters"),
        ("#REF!", "it is an error of the workbook (correct its formula)"),
        ("x" * 201, "it is longer than 200 characters"),
    ],
)
def test_a_hostile_name_is_named_and_the_next_row_is_taken(cell, why):
    wrong, good = listed("name", cell, "good").doors
    assert why in str(wrong.faults[0])
    assert not good.faults


def test_an_apostrophe_a_bracket_and_a_line_break_are_a_name():
    ((_, _, sheet),) = listed("name", "O'Hara's [[leaf]]\n\"door\"").doors
    assert sheet.opening.name == "O'Hara's [[leaf]] \"door\""


def test_blank_rows_and_rows_that_end_early_are_no_fault():
    found = doors_of([["name", "site"], [], ["", ""], ["a"], ["b", "Hall", "more"]], FILE)
    told = [(door.row, door.faults, door.sheet and door.sheet.site) for door in found.doors]
    assert told == [(4, (), ""), (5, (), "Hall")]


def test_a_heading_that_nothing_reads_is_kept_for_the_user():
    assert listed("name|Floor|widht", "a|2|36").headings.unread == ["Floor", "widht"]
    assert unread_words("widht") == "did you mean 'width'?"
    assert "docs/jobs.md" in unread_words("Floor")


@pytest.mark.parametrize(
    ("rows", "why"),
    [
        ([], "the list is empty"),
        ([["site", "width"], ["a", "36"]], "no column 'name'"),
        ([["name", "Door"], ["a", "b"]], "'name' and 'Door' mean the same"),
    ],
)
def test_a_list_without_usable_headings_is_refused(rows, why):
    with pytest.raises(JobError, match=why):
        doors_of(rows, FILE)
