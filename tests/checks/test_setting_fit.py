"""From runs at known settings to the next setting, compared with numpy's weighted fit."""

from __future__ import annotations

from decimal import Decimal

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from handsfree.checks.measurement_uncertainty import uncertainty_of
from handsfree.checks.setting_fit import Fit, NoFit, Scale, Tried, advise_setting, fit_setting
from handsfree.job.quantity import Quantity
from handsfree.job.unit import Unit

from .conftest import a_job, read

STEPS = Scale(low=Decimal(1), high=Decimal(10), step=Decimal(1))


def tried(setting: str, *times: str) -> Tried:
    job = read(a_job(), Quantity.OPENING_TIME, *times)
    return Tried(setting=Decimal(setting), time=uncertainty_of(job.readings, Unit.SECOND))


def test_two_settings_lead_to_the_third_by_hand():
    """1/2.5 = 0.4 at 6 and 1/2 = 0.5 at 8: 0.05 a step, 0.3 at 4, so 3.33 s there.

    3.7 s need 0.2703: 3.41, rounded to the slow side 3, which is 0.25, so 4.0 s.
    Speed at 3 is 2.5 times that at 6 less 1.5 times that at 8, whose u are 0.1/2.5² and
    0.1/2²: 0.0548 together, times 4² and 1.96 is 1.7 s.
    """
    fit = fit_setting((tried("6", "2.5"), tried("8", "2.0")))
    assert fit.time_s(Decimal(4)) == pytest.approx(3.333, abs=0.001)
    found = advise_setting(fit, Decimal("3.7"), STEPS)
    assert (found.setting, found.beyond_steps) == (3, 3)
    assert found.expected_s == pytest.approx(4.0)
    assert found.words == (
        "setting 3 should take 4.0 seconds, give or take 1.7, and keeps the limit 64 times in 100 "
        "if the line holds; two settings only, so there is no telling how "
        "straight the line is; it is 3 steps beyond the 6 to 8 that was tried, "
        "so go there one step at a time and measure at each"
    )


def test_line_and_uncertainty_equal_numpys_weighted_fit():
    """numpy.polyfit with w = 1/u and cov='unscaled': the same line and covariance."""
    runs = (tried("2", "5.2", "5.3"), tried("4", "3.9"), tried("5", "3.5", "3.4", "3.5"),
            tried("7", "2.7"))  # fmt: skip
    fit = fit_setting(runs)
    x = np.array([float(one.setting) for one in runs])
    t = np.array([float(one.time.mean) for one in runs])
    u = np.array([one.time.standard for one in runs]) / t**2
    (slope, at_zero), covariance = np.polyfit(x, 1 / t, 1, w=1 / u, cov="unscaled")
    assert (fit.slope, fit.at_zero) == (pytest.approx(slope), pytest.approx(at_zero))
    at = np.array([6.0, 1.0])
    expected_u = np.sqrt(at @ covariance @ at) * fit.time_s(Decimal(6)) ** 2
    assert fit.standard_s(Decimal(6)) == pytest.approx(expected_u)
    fitted = slope * x + at_zero
    mean = np.average(1 / t, weights=1 / u**2)
    r_squared = 1 - np.sum(((1 / t - fitted) / u) ** 2) / np.sum(((1 / t - mean) / u) ** 2)
    assert fit.r_squared == pytest.approx(r_squared)
    assert fit.residual_s == pytest.approx(np.max(np.abs(t - 1 / fitted)))
    assert fit.quality.startswith("the line explains 100 percent and misses the worst of 4")


@pytest.mark.slow
def test_the_interval_around_the_expected_time_holds_the_true_time_in_95_of_100():
    """Monte Carlo: true speeds on a line, times read with SD 0.10 s, setting 5 expected.

    3,000 draws: the share has a standard error of 0.004, so 0.02 is five of them.
    """
    rng = np.random.default_rng(24)
    true_s = {4: 1 / 0.22, 6: 1 / 0.30, 7: 1 / 0.34}
    held = 0
    for _ in range(3000):
        runs = [tried(str(at), f"{true + rng.normal(0, 0.1):.4f}") for at, true in true_s.items()]
        fit = fit_setting(tuple(runs))
        off_s = fit.time_s(Decimal(5)) - 1 / 0.26
        held += abs(off_s) < 1.96 * fit.standard_s(Decimal(5))
    assert held / 3000 == pytest.approx(0.95, abs=0.02)


@pytest.mark.slow
def test_how_often_a_fit_is_right_is_what_comes_out():
    """Monte Carlo: true speeds on a line, times read with SD 0.10 s; setting 5 takes 3.85 s.

    Of the fits that advise 5 for a limit of 3.7 s as many are right as they say on average.
    4,000 draws with numpy's generator: the share has a standard error of 0.007.
    """
    rng = np.random.default_rng(25)
    said, right = [], []
    for _ in range(4000):
        speeds = {4: 0.22, 6: 0.30, 7: 0.34}
        # What is known beforehand is nothing: the truth is drawn around what is read.
        runs = tuple(tried(str(at), f"{1 / speed:.4f}") for at, speed in speeds.items())
        fit = fit_setting(runs)
        found = advise_setting(fit, Decimal("3.7"), STEPS, least_s=Decimal("3.7"))
        times = [float(one.time.mean) + rng.normal(0, 0.1) for one in runs]
        line = np.polyfit([4, 6, 7], [1 / t for t in times], 1, w=[t**2 / 0.1 for t in times])
        said.append(found.right)
        right.append(1 / np.polyval(line, float(found.setting)) >= 3.7)
    assert np.mean(right) == pytest.approx(np.mean(said), abs=0.03)


def test_a_fit_never_leads_back_to_a_faster_setting_than_one_that_does_not_pass():
    """The scatter of the readings says 8; 7 was too fast already."""
    fit = fit_setting((tried("9", "3.4"), tried("7", "4.4")))
    assert advise_setting(fit, Decimal("3.9"), STEPS).setting == 7
    slower = advise_setting(fit, Decimal("3.9"), STEPS, slower_than=Decimal(7))
    assert slower.setting == 6


def test_within_one_step_of_what_was_tried_nothing_is_said_of_reaching_far():
    fit = fit_setting((tried("4", "3.4"), tried("6", "2.5")))
    found = advise_setting(fit, Decimal("3.7"), STEPS)
    assert (found.setting, found.beyond_steps) == (3, 1)
    assert "beyond" not in found.words


def test_a_setting_that_slows_the_leaf_is_rounded_up():
    scale = STEPS.model_copy(update={"direction": "higher is slower", "step": Decimal("0.5")})
    fit = fit_setting((tried("2", "2.0"), tried("4", "2.5")), "higher is slower")
    # 0.05 slower for each step from 0.5 at 2; 0.3509 lies at 4.98.
    assert advise_setting(fit, Decimal("2.85"), scale).setting == 5


def test_no_setting_beyond_the_scale_is_told():
    fit = fit_setting((tried("2", "2.0"), tried("4", "1.6")))
    found = advise_setting(fit, Decimal("3.7"), STEPS)
    assert found.setting is None
    assert found.words.startswith("even setting 1, the slowest there is, should take 2.3 seconds")


def test_a_leaf_slow_enough_at_every_setting_is_given_the_fastest_of_the_scale():
    fit = fit_setting((tried("8", "6.0"), tried("10", "5.0")))
    assert advise_setting(fit, Decimal("3.7"), STEPS).setting == 10


def test_a_coarse_step_onto_a_standstill_is_not_advised():
    """0.05 at 5 and 0.45 at 9: 0.1 a step, and nothing is left of the speed at 4.5 or below."""
    coarse = Scale(low=Decimal(1), high=Decimal(9), step=Decimal(4))
    fit = fit_setting((tried("5", "20"), tried("9", "2.2222")))
    found = advise_setting(fit, Decimal("25"), coarse)
    assert found.setting is None
    assert found.words.startswith("by the line the leaf would stand still at setting 1")


@pytest.mark.parametrize(
    ("runs", "why"),
    [
        ((), "nothing was tried"),
        ((tried("5", "3.0"),), "all runs were at setting 5, so change it by one step"),
        ((tried("5", "3.0"), tried("5", "3.1")), "all runs were at setting 5"),
        ((tried("5", "3.0"), tried("6", "3.5")), "a higher setting should be faster and was not"),
        ((tried("5", "3.0"), tried("6", "2.9")), "less than the doubt of their times"),
    ],
)
def test_what_gives_no_line_is_refused_with_the_reason(runs, why):
    found = fit_setting(runs)
    assert isinstance(found, NoFit)
    assert why in found.why


@given(
    slow=st.decimals("4", "8", places=1),
    fast=st.decimals("1.5", "3.5", places=1),
    aim=st.decimals("2", "9", places=2),
    apart=st.integers(1, 6),
)
def test_an_advised_setting_is_never_expected_to_be_faster_than_the_aim(slow, fast, aim, apart):
    fit = fit_setting((tried("3", str(slow)), tried(str(3 + apart), str(fast))))
    assume(isinstance(fit, Fit))
    found = advise_setting(fit, aim, STEPS)
    if found.setting is not None:
        assert found.expected_s >= float(aim) - 1e-9
        assert found.setting in range(1, 11)
