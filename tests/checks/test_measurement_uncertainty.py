"""The decision rule of ILAC-G8:09/2019 with the observer of Am. J. Phys. 87(2), 110.

Monte Carlo tests are seeded; each says how far chance may carry its share.
"""

from __future__ import annotations

import math
from decimal import Decimal

import numpy as np
import pytest
import scipy
from hypothesis import given
from hypothesis import strategies as st

from handsfree.checks.measurement_uncertainty import (
    TIMED_SD_S,
    Uncertainty,
    decide,
    probability_within,
    runs_to_decide,
    uncertainty_of,
)
from handsfree.job.finding import Verdict
from handsfree.job.quantity import Quantity
from handsfree.job.reading import Taken
from handsfree.job.unit import Family, Unit, parse_measure

from .conftest import a_job, read

LIMIT = Decimal("3.5")


def timed(*values: str, taken: Taken = Taken.SAID) -> Uncertainty:
    runs = read(a_job(), Quantity.OPENING_TIME, *values).readings
    taken_so = tuple(run.model_copy(update={"taken": taken}) for run in runs)
    return uncertainty_of(taken_so, Unit.SECOND)


def forces(*values: str, accuracy: str | None = None) -> Uncertainty:
    runs = read(a_job(), Quantity.OPENING_FORCE, *values).readings
    stated = parse_measure(accuracy, Family.FORCE) if accuracy else None
    return uncertainty_of(runs, Unit.POUND_FORCE, stated)


@pytest.mark.parametrize(("runs", "band"), [(1, "0.20"), (3, "0.11"), (5, "0.09")])
def test_the_uncertainty_of_one_three_and_five_runs_of_a_door_that_does_not_vary(runs, band):
    """Derived from SD 0.10 s an interval (seen): U at 95 %, GUM 6.2."""
    assert timed(*["4.0"] * runs).guard_band == Decimal(band)


@pytest.mark.parametrize(("runs", "band"), [(1, "0.54"), (2, "0.54"), (3, "0.14"), (5, "0.11")])
def test_what_agreeing_runs_have_to_clear(runs, band):
    """Pocock's 2.413 by 0.10 s over √n; one run and two with the door's assumed 0.20 s as well."""
    assert timed(*["4.0"] * runs).band("at least") == Decimal(band)


@pytest.mark.parametrize("taken", [Taken.STOPWATCH, Taken.BY_EAR, Taken.SAID, Taken.TYPED])
def test_two_observed_ends_have_one_doubt_however_the_time_came(taken):
    assert timed("4.0", taken=taken).guard_band == Decimal("0.20")


def test_a_time_by_an_instrument_has_no_observer():
    assert timed("4.0", taken=Taken.GAUGE).guard_band == Decimal("0.01")


@pytest.mark.parametrize(
    ("value", "rule", "verdict"),
    [
        ("4.04", "guarded", Verdict.PASS),
        ("4.03", "guarded", Verdict.TOO_CLOSE),
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


def test_runs_that_scatter_widen_the_band_by_n_less_one_degrees_of_freedom():
    """GUM G.3.2: s/√n rests on n - 1 degrees of freedom; the quantile is scipy's.

    3.6, 3.9, 3.7, 3.8, 4.0 have s = 0.158, which is more than the observer's 0.10. The nominal
    level is that of Pocock's 2.413 to one side.
    """
    doubt = timed("3.6", "3.9", "3.7", "3.8", "4.0")
    assert doubt.spread == pytest.approx(0.158, abs=0.001)
    assert doubt.freedom == 4
    wide = scipy.stats.t.ppf(scipy.stats.norm.cdf(2.413), 4) * doubt.spread / math.sqrt(5)
    assert float(doubt.band("at least")) == pytest.approx(wide, abs=0.005)
    usual = scipy.stats.t.ppf(0.975, 4) * doubt.spread / math.sqrt(5)
    assert float(doubt.guard_band) == pytest.approx(usual, abs=0.005)


def test_more_runs_never_ask_for_more_than_the_worst_of_them_alone():
    """3.4, 4.4 and 4.4 s: Student's t alone would ask for 2.6 s."""
    three = timed("3.4", "4.4", "4.4")
    alone = timed("3.4").band("at least")
    worst = float(three.mean - Decimal("3.4") + alone)
    assert float(three.band("at least")) == pytest.approx(worst, abs=0.01)
    two = timed("4.4", "4.9")
    assert decide(two, LIMIT, "at least", "guarded") is decide(
        timed("4.4"), LIMIT, "at least", "guarded"
    )


def test_the_probability_of_scattering_runs_is_that_of_students_t():
    """JCGM 106:2012, 7: conformance probability; with few runs a scaled and shifted t."""
    doubt = timed("3.6", "4.0", "3.8")
    share = scipy.stats.t.cdf(0.3 / doubt.standard, doubt.freedom)
    assert float(probability_within(doubt, LIMIT, "at least")) == pytest.approx(share, abs=0.006)


def test_runs_that_timing_cannot_explain_are_said_to_vary():
    """Chi square at 95 % by scipy: with two runs a difference of 0.277 s."""
    edge = TIMED_SD_S * math.sqrt(2 * scipy.stats.chi2.ppf(0.95, 1))
    assert not timed("4.0", f"{4 + edge - 0.002:.4f}").varies
    assert timed("4.0", f"{4 + edge + 0.002:.4f}").varies
    assert not timed("4.0").varies


# --- a clock started by one's own button


def test_ones_own_button_widens_the_band_by_the_delay_that_more_runs_do_not_lessen():
    """Late at the stop only: 0.11 s on average, SD 0.07 s (Am. J. Phys. 87(2), 110: seen)."""
    one, five = (timed(*["4.0"] * n, taken=Taken.OWN_BUTTON) for n in (1, 5))
    assert one.mean == 4
    assert (one.band("at least"), one.band("at most")) == (Decimal("0.62"), Decimal("0.51"))
    assert five.band("at least") == Decimal("0.08") + Decimal("0.11")


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


def test_the_worst_run_of_a_gauge_counts_and_its_doubt_stays():
    """Forces hold at any point of the cycle (A156.19, excerpt: seen): no mean hides one."""
    three = forces("11", "13", "12")
    assert (three.value("at most"), three.value("at least")) == (13, 11)
    assert three.band("at most") == forces("12").band("at most") == Decimal("0.28")
    assert not three.varies


@given(
    values=st.lists(st.decimals("1", "40", places=1), min_size=1, max_size=5),
    more=st.decimals("1", "40", places=1),
)
def test_another_run_never_makes_a_force_look_better(values, more):
    order = (Verdict.FAIL, Verdict.TOO_CLOSE, Verdict.PASS)
    before, after = (
        decide(forces(*map(str, each)), Decimal(15), "at most", "guarded")
        for each in (values, (*values, more))
    )
    assert order.index(after) <= order.index(before)


def test_the_unit_family_never_changes_the_doubt():
    us = forces("12", "13")
    metric = uncertainty_of(read(a_job(), Quantity.OPENING_FORCE, "12", "13").readings, Unit.NEWTON)
    newton = 4.4482216152605
    assert metric.standard == pytest.approx(us.standard * newton)
    assert metric.freedom == pytest.approx(us.freedom)


# --- another run


@pytest.mark.parametrize(
    ("values", "more"),
    [
        (["4.1"], 0),  # passes
        (["3.4"], 0),  # fails
        (["3.65"], 2),  # clears 0.14, the band of three runs
        (["3.63"], 3),  # clears 0.12, that of four
        (["3.61", "3.61"], 3),  # 0.11, that of five
        (["3.55"], None),  # not even that
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
    with pytest.raises(ValueError, match="at least one run"):
        uncertainty_of((), Unit.SECOND)
