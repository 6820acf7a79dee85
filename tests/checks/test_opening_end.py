"""The last stretch of the opening, from backcheck to fully open, and its energy."""

from __future__ import annotations

import math
from decimal import Decimal

import numpy as np
import pytest
import scipy
from uncertainties import ufloat

from handsfree.checks.evaluate import changed, judge
from handsfree.checks.leaf_energy import BEYOND, CONTRADICTION
from handsfree.checks.opening_end import stretch_of
from handsfree.job.finding import Verdict
from handsfree.job.quantity import Quantity
from handsfree.job.reading import LEAF_SUBJECTS

from .conftest import a_job, read, with_leaf

J_PER_FT_LBF = 1.3558179483314004
LEFT = LEAF_SUBJECTS[0]


def opened(angle: str, opening: str | list[str], total: str | list[str], job=None):
    job = read(job or a_job(), Quantity.BACKCHECK_ANGLE, angle)
    job = read(job, Quantity.OPENING_TIME, *([opening] if isinstance(opening, str) else opening))
    return read(job, Quantity.TOTAL_OPENING_TIME, *([total] if isinstance(total, str) else total))


def beyond(job, limits):
    (found,) = [each for each in judge(job, limits) if each.rule in (BEYOND, CONTRADICTION)]
    return found


def test_29_degrees_in_0_45_seconds_are_8_8_foot_pounds(a156):
    """36 in by 150 lb: half the inertia, integrated over the leaf by scipy, times ω² (derived)."""
    width_m, kg = 36 * 0.0254, 150 * 0.45359237
    inertia, _ = scipy.integrate.quad(lambda r: kg / width_m * r**2, 0, width_m)
    joules = inertia * (math.radians(29) / 0.45) ** 2 / 2
    assert joules / J_PER_FT_LBF == pytest.approx(8.845, abs=0.005)
    found = beyond(opened("61", "5.3", "5.75"), a156)
    assert found.verdict is Verdict.FAIL
    assert float(found.reading) == pytest.approx(joules / J_PER_FT_LBF, abs=0.005)
    assert found.why == (
        "too much energy in the left leaf from 61 to 90 degrees: 8.85, limit 1.25 foot pounds, "
        "for 36 inches and 150 pounds from the label"
    )
    # 5.3 s to backcheck, 1.2 s at the limit, the band of a difference and its scatter.
    assert found.advice == (
        "slow the backcheck of the left leaf, shut to fully open, to about 7.5 seconds"
    )


def test_the_doubt_is_that_of_a_difference(a156):
    """Both observers count: by ``uncertainties``, and by numpy's generator (0.14 s)."""
    apart = ufloat(7.0, 0.10) - ufloat(5.0, 0.10)
    stretch = stretch_of(opened("61", "5.0", "7.0"), LEFT)
    assert stretch.time.standard == pytest.approx(apart.std_dev, abs=0.001)
    rng = np.random.default_rng(61)
    simulated = rng.normal(7, 0.1, 40_000) - rng.normal(5, 0.1, 40_000)
    assert stretch.time.standard == pytest.approx(np.std(simulated), abs=0.002)
    assert stretch.time.band("at least") == Decimal(f"{2.413 * math.hypot(0.1, 0.1, 0.2):.2f}")


@pytest.mark.slow
@pytest.mark.parametrize("runs", [1, 3, 5])
def test_doors_exactly_at_the_energy_of_the_stretch_seldom_pass(a156, runs):
    """1,000 doors whose last 29 degrees take just the 1.196 s that the energy allows, SD 0.2 s."""
    least = math.radians(29) * math.sqrt(
        150 * 0.45359237 * (36 * 0.0254) ** 2 / 3 / (2 * 1.25 * J_PER_FT_LBF)
    )
    rng = np.random.default_rng(29)
    passed = 0
    for _ in range(1000):
        part = 5 + rng.normal(0, 0.1, runs)
        whole = 5 + least + rng.normal(0, 0.2, runs) + rng.normal(0, 0.1, runs)
        texts = ([f"{each:.2f}" for each in times] for times in (part, whole))
        stretch = stretch_of(opened("61", *texts), LEFT)
        clear = float(stretch.time.mean) - least
        passed += clear >= float(stretch.time.band("at least"))
    assert passed / 1000 <= 0.035


@pytest.mark.parametrize("total", ["5.0", "5.3"])
def test_a_whole_no_longer_than_its_part_is_a_contradiction(a156, total):
    found = beyond(opened("61", "5.3", total), a156)
    assert (found.rule, found.verdict) == (CONTRADICTION, Verdict.NOT_JUDGED)
    assert f"is {figure(total)} seconds and its opening time 5.3 seconds" in found.why
    assert found.advice == "time both again"


def figure(text: str) -> str:
    return text.removesuffix(".0")


def test_nothing_is_guessed_of_the_stretch(a156):
    """Both times, the angle and the size have to be known, and something has to be left."""
    whole = opened("61", "5.3", "7.0")
    no_angle = read(a_job(), Quantity.OPENING_TIME, "5.3")
    no_angle = read(no_angle, Quantity.TOTAL_OPENING_TIME, "7")
    no_part = read(read(a_job(), Quantity.BACKCHECK_ANGLE, "61"), Quantity.TOTAL_OPENING_TIME, "7")
    stops = opened("80", "5.3", "7", with_leaf(a_job(), open_angle_deg=Decimal(80)))
    bare = opened("61", "5.3", "7.0", with_leaf(a_job(), weight=None))
    rules = [{each.rule for each in judge(job, a156)} for job in (no_angle, no_part, stops, bare)]
    assert all(BEYOND not in each for each in rules)
    assert BEYOND in {each.rule for each in judge(whole, a156)}


def test_with_backcheck_past_80_degrees_the_stretch_begins_at_80(a156):
    """The opening time ends at backcheck or 80 degrees, whichever comes first (seen)."""
    stretch = stretch_of(opened("87", "5.0", "6.0"), LEFT)
    assert stretch.angle_deg == 10
    assert "from 80 to 90 degrees" in beyond(opened("87", "5.0", "6.0"), a156).why


def test_an_opening_time_read_anew_judges_the_stretch_anew(a156):
    before = opened("61", "4.1", "6.6")
    after = read(before, Quantity.OPENING_TIME, "6.0", attempt=2)
    touched = {each.rule: each.verdict for each in changed(before, after, a156)}
    assert touched[BEYOND] is Verdict.FAIL
