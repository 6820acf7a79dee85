"""The decision rule of ILAC-G8:09/2019 with the observer of Am. J. Phys. 87(2), 110.

Monte Carlo tests are seeded; each says how far chance may carry its share.
"""

from __future__ import annotations

import math
from decimal import Decimal

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from handsfree.checks.doubt import (
    TIMED_SD_S,
    Doubt,
    decide,
    doubt_of,
    probability_within,
    runs_to_decide,
)
from handsfree.job.finding import Verdict
from handsfree.job.quantity import Quantity
from handsfree.job.reading import Taken
from handsfree.job.unit import Family, Unit, parse_measure

from .conftest import a_job, read

LIMIT = Decimal("3.5")


def timed(*values: str, taken: Taken = Taken.SAID) -> Doubt:
    runs = read(a_job(), Quantity.OPENING_TIME, *values).readings
    taken_so = tuple(run.model_copy(update={"taken": taken}) for run in runs)
    return doubt_of(taken_so, Unit.SECOND)


def forces(*values: str, accuracy: str | None = None) -> Doubt:
    runs = read(a_job(), Quantity.OPENING_FORCE, *values).readings
    stated = parse_measure(accuracy, Family.FORCE) if accuracy else None
    return doubt_of(runs, Unit.POUND_FORCE, stated)


def share_of_passes(rng, *, runs: int, door_sd: float, draws: int, most: int | None = None):
    """How many doors exactly at their limit pass, timed by hand; up to ``most`` runs."""
    passed = 0
    for _ in range(draws):
        read_s = 3.5 + rng.normal(0, door_sd, most or runs) + rng.normal(0, 0.1, most or runs)
        texts = [f"{value:.3f}" for value in read_s]
        for count in range(runs, (most or runs) + 1):
            verdict = decide(timed(*texts[:count]), LIMIT, "at least", "guarded")
            if verdict is not Verdict.TOO_CLOSE:
                passed += verdict is Verdict.PASS
                break
    return passed / draws


@pytest.mark.parametrize(("runs", "band"), [(1, "0.20"), (3, "0.11"), (5, "0.09")])
def test_guard_bands_of_one_three_and_five_runs(runs, band):
    """Derived from SD 0.10 s an interval (seen): w = U (95 %), ILAC-G8 4.2.2."""
    assert timed(*["4.0"] * runs).guard_band == Decimal(band)


@pytest.mark.parametrize("taken", [Taken.STOPWATCH, Taken.BY_EAR, Taken.SAID, Taken.TYPED])
def test_two_observed_ends_have_one_doubt_however_the_time_came(taken):
    assert timed("4.0", taken=taken).guard_band == Decimal("0.20")


def test_a_time_by_an_instrument_has_no_observer():
    assert timed("4.0", taken=Taken.GAUGE).guard_band == Decimal("0.01")


@pytest.mark.parametrize(
    ("value", "rule", "verdict"),
    [
        ("3.70", "guarded", Verdict.PASS),
        ("3.69", "guarded", Verdict.TOO_CLOSE),
        ("3.50", "guarded", Verdict.TOO_CLOSE),
        ("3.49", "guarded", Verdict.FAIL),
        ("3.50", "simple", Verdict.PASS),
        ("3.49", "simple", Verdict.FAIL),
    ],
)
def test_decisions_at_the_edges_of_the_band(value, rule, verdict):
    assert decide(timed(value), Decimal("3.5"), "at least", rule) is verdict


def test_a_reading_on_the_limit_is_right_half_of_the_time():
    """ILAC-G8 4.2.1: simple acceptance has up to 50 % of wrong accepts (seen)."""
    assert probability_within(timed("3.5"), Decimal("3.5"), "at least") == Decimal("0.50")


def test_probabilities_against_a_monte_carlo_of_timed_intervals():
    """Both ends of an interval are late by 0.11 s, SD 0.07 s: the bias cancels (seen)."""
    rng = np.random.default_rng(16)
    ends = rng.normal(0.11, 0.07, size=(2, 400_000))
    true_s = 3.62
    read_s = true_s + ends[1] - ends[0]
    assert np.std(read_s) == pytest.approx(0.10, abs=0.002)
    assert np.mean(read_s) == pytest.approx(true_s, abs=0.001)
    doubt = timed(str(true_s))
    share = np.mean(read_s >= 3.5)
    assert float(probability_within(doubt, Decimal("3.5"), "at least")) == pytest.approx(
        share, abs=0.012
    )


def test_a_guarded_pass_is_wrong_in_at_most_one_of_forty():
    """The worst case is a door exactly at its limit; one-sided, U (95 %) leaves 2.5 %.

    200,000 draws: the share has a standard error of 0.0004.
    """
    rng = np.random.default_rng(8)
    read_s = 3.5 + rng.normal(0, 0.10, size=200_000)
    band = float(timed("3.5").guard_band)
    assert np.mean(read_s >= 3.5 + band) < 0.026


# --- the door's own scatter


def test_runs_that_agree_by_luck_do_not_narrow_the_band():
    assert timed("4.0", "4.0", "4.0").guard_band == timed("3.9", "4.0", "4.1").guard_band


def test_runs_that_scatter_widen_the_band_by_the_effective_degrees_of_freedom():
    """Welch and Satterthwaite by hand (GUM G.4.1), the quantile from scipy.

    3.6, 4.0, 3.8 have s = 0.2: s² = 0.04, of which the observer's 0.01 is known.
    u² = 0.04/3 and 0.03/3 of it rests on two degrees of freedom: 2·(0.04/0.03)² = 3.56.
    """
    doubt = timed("3.6", "4.0", "3.8")
    assert doubt.spread == pytest.approx(0.2)
    assert doubt.freedom == pytest.approx(2 * (4 / 3) ** 2, rel=0.01)
    wide = stats.t.ppf(0.975, doubt.freedom) * 0.2 / math.sqrt(3)
    assert float(doubt.guard_band) == pytest.approx(wide, abs=0.005)
    assert decide(doubt, LIMIT, "at least", "guarded") is Verdict.TOO_CLOSE


def test_the_probability_of_scattering_runs_is_that_of_students_t():
    """JCGM 106:2012, 7: conformance probability; with few runs a scaled and shifted t."""
    doubt = timed("3.6", "4.0", "3.8")
    share = stats.t.cdf(0.3 / doubt.standard, doubt.freedom)
    assert float(probability_within(doubt, LIMIT, "at least")) == pytest.approx(share, abs=0.006)


@pytest.mark.parametrize(("runs", "expected"), [(3, 0.043), (5, 0.038)])
def test_a_door_that_varies_as_much_as_its_observer_is_seldom_passed_at_its_limit(runs, expected):
    """Two thousand doors of SD 0.10 s: the share has a standard error of 0.005.

    With the observer's scatter alone it would be 0.083 (one-sided, 1.96/√2).
    """
    share = share_of_passes(np.random.default_rng(106), runs=runs, door_sd=0.1, draws=2000)
    assert share == pytest.approx(expected, abs=0.015)


def test_looking_again_after_each_run_passes_six_of_a_hundred_at_the_limit():
    """Two thousand doors that do not vary: 0.058, standard error 0.005."""
    rng = np.random.default_rng(5)
    share = share_of_passes(rng, runs=1, most=5, door_sd=0.0, draws=2000)
    assert share == pytest.approx(0.058, abs=0.016)


def test_runs_that_timing_cannot_explain_are_said_to_vary():
    """Chi square at 95 % by scipy: with two runs a difference of 0.277 s."""
    edge = TIMED_SD_S * math.sqrt(2 * stats.chi2.ppf(0.95, 1))
    assert not timed("4.0", f"{4 + edge - 0.002:.4f}").varies
    assert timed("4.0", f"{4 + edge + 0.002:.4f}").varies
    assert not timed("4.0").varies


# --- a clock started by one's own button


def test_ones_own_button_widens_the_band_by_the_delay_that_more_runs_do_not_lessen():
    """Late at the stop only: 0.11 s on average, SD 0.07 s (Am. J. Phys. 87(2), 110: seen)."""
    one, five = (timed(*["4.0"] * n, taken=Taken.OWN_BUTTON) for n in (1, 5))
    assert one.mean == 4
    assert (one.band("at least"), one.band("at most")) == (Decimal("0.25"), Decimal("0.14"))
    assert five.band("at least") == Decimal("0.17")


def test_neither_rule_accepts_a_time_that_the_delay_alone_explains():
    doubt = timed("3.6", taken=Taken.OWN_BUTTON)
    assert decide(doubt, LIMIT, "at least", "simple") is Verdict.TOO_CLOSE
    assert decide(doubt, LIMIT, "at least", "guarded") is Verdict.TOO_CLOSE
    assert (
        decide(timed("3.61", taken=Taken.OWN_BUTTON), LIMIT, "at least", "simple") is Verdict.PASS
    )


def test_the_probability_behind_ones_own_button_against_a_monte_carlo():
    """The true time is the reading less a delay of 0.11 s, SD 0.07 s; standard error 0.001."""
    rng = np.random.default_rng(110)
    share = np.mean(3.7 - rng.normal(0.11, 0.07, size=200_000) >= 3.5)
    doubt = timed("3.7", taken=Taken.OWN_BUTTON)
    assert float(probability_within(doubt, LIMIT, "at least")) == pytest.approx(share, abs=0.008)


# --- gauges


def test_what_a_gauge_cannot_resolve_no_number_of_runs_makes_better():
    """Half a pound of resolution, rectangular: 0.5/√12 (GUM F.2.2.1)."""
    for runs in (1, 5):
        assert forces(*["12"] * runs).standard == pytest.approx(0.5 / math.sqrt(12))


def test_a_stated_accuracy_does_not_average():
    """± 1 lbf, rectangular: 1/√3 (GUM 4.3.7), beside the resolution; in newtons alike."""
    expected = math.hypot(1 / math.sqrt(3), 0.5 / math.sqrt(12))
    assert forces("12", accuracy="1lbf").standard == pytest.approx(expected)
    assert forces(*["12"] * 5, accuracy="4.4482216N").standard == pytest.approx(expected)


def test_a_force_that_differs_from_run_to_run_has_more_doubt_than_its_gauge():
    assert forces("11", "13", "12").guard_band > 2 * forces("12", "12", "12").guard_band
    assert not forces("11", "13", "12").varies


def test_the_unit_family_never_changes_the_doubt():
    us = forces("12", "13")
    metric = doubt_of(read(a_job(), Quantity.OPENING_FORCE, "12", "13").readings, Unit.NEWTON)
    newton = 4.4482216152605
    assert metric.standard == pytest.approx(us.standard * newton)
    assert metric.freedom == pytest.approx(us.freedom)


# --- another run


@pytest.mark.parametrize(
    ("values", "more"),
    [
        (["3.8"], 0),  # passes
        (["3.4"], 0),  # fails
        (["3.65"], 1),  # clears 0.14, the band of two runs
        (["3.62"], 2),  # clears 0.11, that of three
        (["3.61", "3.59"], 2),  # 0.10, that of four
        (["3.55"], None),  # not even 0.09, that of five
        (["3.52"] * 5, None),
    ],
)
def test_how_many_more_runs_would_decide(values, more):
    assert runs_to_decide(timed(*values), LIMIT, "at least") == more


def test_more_runs_help_a_gauge_as_little_as_a_delay():
    assert runs_to_decide(forces("14.8"), Decimal(15), "at most") is None
    own_button = timed("3.62", taken=Taken.OWN_BUTTON)
    assert runs_to_decide(own_button, LIMIT, "at least") is None


times = st.lists(st.decimals("0.5", "20", places=2), min_size=1, max_size=5)


@given(values=times, limit=st.decimals("1", "10", places=1), taken=st.sampled_from(Taken))
def test_whatever_the_runs_the_guard_band_never_turns_a_fail_into_a_pass(values, limit, taken):
    doubt = timed(*map(str, values), taken=taken)
    simple = decide(doubt, limit, "at least", "simple")
    guarded = decide(doubt, limit, "at least", "guarded")
    assert (guarded is Verdict.FAIL) == (simple is Verdict.FAIL)
    assert guarded is not Verdict.PASS or simple is Verdict.PASS
    assert 0 <= probability_within(doubt, limit, "at least") <= 1


def test_without_a_run_there_is_nothing_to_doubt():
    with pytest.raises(ValueError, match="no run"):
        doubt_of((), Unit.SECOND)
