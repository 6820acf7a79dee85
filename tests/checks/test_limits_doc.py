"""docs/limits.md says what the code does: limits, Table I and the worked examples."""

from __future__ import annotations

import re
from decimal import Decimal
from pathlib import Path

import pytest

from handsfree.checks.judge import judge
from handsfree.checks.travel import least_travel_time
from handsfree.job.finding import Finding, Verdict
from handsfree.job.job import Job
from handsfree.job.quantity import Quantity

from .conftest import a_job, read

DOC = (Path(__file__).parents[2] / "docs" / "limits.md").read_text(encoding="utf-8")


def example(number: int) -> str:
    return DOC.split(f"**Example {number}.**")[1].split("**Example")[0].split("\n## ")[0]


def figures(pattern: str, text: str) -> tuple[Decimal, ...]:
    found = re.search(pattern, text.replace("\n  ", " "))
    assert found, f"{pattern} stands not in: {text}"
    return tuple(Decimal(figure) for figure in found.groups())


def of(findings: tuple[Finding, ...], rule: str) -> Finding:
    (found,) = [finding for finding in findings if finding.rule == rule]
    return found


def travel(job: Job, a156):
    (leaf,) = job.opening.leaves
    return least_travel_time(leaf.width, leaf.weight, a156, a156.limit.opening_floor)


def near(value, figure: Decimal) -> bool:
    """Equal at the precision that the page prints."""
    return round(Decimal(str(value)), -figure.as_tuple().exponent) == figure


def test_every_row_of_the_limit_table_is_a_value_of_the_set(a156):
    expected = {
        "backcheck angle": a156.limit.backcheck_angle,
        "latching, 10": a156.limit.latching,
        "hold open |": a156.limit.hold_open,
        "energy of": a156.limit.energy,
        "stall force": a156.limit.stall_force,
        "release the latch": a156.limit.release_force,
        "set in motion": a156.limit.set_in_motion_force,
        "open fully": a156.limit.open_fully_force,
    }
    rows = DOC.split("Table I, in seconds")[0].splitlines()
    for name, limit in expected.items():
        (row,) = [line for line in rows if name in line]
        assert f"{limit.bound} {limit.value} {limit.unit}" in row
        assert limit.clause in row and row.rstrip(" |").endswith(limit.status)


def test_the_grid_is_table_one(a156):
    rows = re.findall(r"^\| (\d+) in \|(.*)\|$", DOC, re.MULTILINE)
    assert [Decimal(width) for width, _ in rows] == list(a156.table_one.widths_in)
    printed = tuple(tuple(Decimal(cell) for cell in row.split("|")) for _, row in rows)
    assert printed == a156.table_one.seconds


def test_example_one_a_leaf_that_is_too_fast(a156):
    text = example(1)
    job = read(a_job("36in", "150lb"), Quantity.OPENING_TIME, "2.9")
    table, formula, physics = figures(
        r"Table I: ([\d.]+) s. Formula: .* = ([\d.]+) s. Physics: ([\d.]+) s", text
    )
    least = travel(job, a156)
    assert least.table_s == table
    assert near(least.formula_s, formula) and near(least.physics_s, physics)
    (energy,) = figures(r"in 2.9 s: ([\d.]+) lbf ft", text)
    findings = judge(job, a156)
    assert of(findings, "opening energy").reading == energy
    opening = of(findings, "opening time")
    assert "**fail**" in text and opening.verdict is Verdict.FAIL
    longer, percent = figures(r"take ([\d.]+) s longer, .* = (\d+) percent", text)
    assert opening.advice == (
        f"the left leaf must open to backcheck about {percent} percent slower and take {longer} seconds longer"
    )


def test_example_two_a_reading_within_its_doubt(a156):
    text = example(2)
    job = read(a_job("36in", "150lb"), Quantity.BACKCHECK_ANGLE, "70")
    found = of(judge(read(job, Quantity.TOTAL_OPENING_TIME, "5.1"), a156), "total opening time")
    limit, band, probability = figures(
        r"= ([\d.]+) s.\n.*\+ ([\d.]+) = .*time keeps the limit is ([\d.]+\d)", text
    )
    assert (found.limit, found.guard_band, found.probability) == (limit, band, probability)
    assert "**too close to call**" in text and found.verdict is Verdict.TOO_CLOSE


def test_example_three_a_metric_size_off_the_table(a156):
    text = example(3)
    job = read(a_job("1000mm", "90kg"), Quantity.OPENING_TIME, "4.8")
    formula, rounded = figures(r"/ 133 = ([\d.]+) s, rounded up: ([\d.]+) s", text)
    least = travel(job, a156)
    assert least.table_s is None and least.ruled_by == "formula"
    assert near(least.formula_s, formula) and least.seconds == rounded
    energy, peak = figures(r"in 4.8 s: ([\d.]+) lbf ft. The peak may be ([\d.]+) times", text)
    found = of(judge(job, a156), "opening energy")
    assert found.reading == energy and f"{peak} times the mean" in found.advice
    assert "**pass**" in text
    assert of(judge(job, a156), "opening time").verdict is Verdict.PASS


@pytest.mark.parametrize(
    ("name", "quantity"),
    [
        ("opening time", Quantity.OPENING_TIME),
        ("energy over 70 degrees", Quantity.OPENING_TIME),
        ("total opening time", Quantity.TOTAL_OPENING_TIME),
        ("hold open time", Quantity.HOLD_OPEN_TIME),
        ("closing time", Quantity.CLOSING_TIME),
        ("latching time", Quantity.LATCHING_TIME),
    ],
)
def test_the_demo_visit_is_explained_as_it_is_judged(a156, name, quantity):
    (row,) = [line for line in DOC.splitlines() if line.startswith(f"| left leaf, {name} |")]
    cells = [cell.strip() for cell in row.strip("|").split("|")]
    as_found, as_left, limit = (Decimal(cell.split()[0]) for cell in cells[1:4])
    times = ("2.9", "4.2") if name.startswith("energy") else (str(as_found), str(as_left))
    verdicts = []
    for time, printed in zip(times, (as_found, as_left), strict=True):
        job = read(read(a_job(), Quantity.BACKCHECK_ANGLE, "70"), quantity, time)
        found = of(judge(job, a156), "opening energy" if name.startswith("energy") else name)
        assert (found.reading, found.limit) == (printed, limit)
        verdicts.append(str(found.verdict))
    assert cells[4].startswith(verdicts[0])
    assert verdicts[-1] in cells[4]
