"""The largest energy and its limit."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from handsfree.checks.largest_energy import COVERAGE, inertia_share, judge_largest_energy
from handsfree.checks.limits import load_limits
from handsfree.job.finding import Verdict
from handsfree.job.opening import WeightSource

LIMITS = load_limits("a156.19")
LIMIT_J = 1.25 * 1.3558179483314004  # 1.25 lbf ft (ANSI/BHMA A156.19 4.5, seen)


@pytest.mark.parametrize(
    ("energy", "doubt", "verdict"),
    [
        (1.0, 0.05, Verdict.PASS),
        (LIMIT_J - 0.05, 0.05, Verdict.TOO_CLOSE),
        (LIMIT_J + 0.001, 0.0001, Verdict.FAIL),
        (LIMIT_J - COVERAGE * 0.05 - 0.001, 0.05, Verdict.PASS),
    ],
)
def test_a_guarded_pass_clears_the_limit_by_the_doubt(
    energy: float, doubt: float, verdict: Verdict
) -> None:
    assert judge_largest_energy(energy, doubt, LIMITS, metric=False).verdict is verdict


def test_units_are_those_of_the_job() -> None:
    us = judge_largest_energy(1.3558179483314004, 0.0, LIMITS, metric=False)
    assert (us.energy, us.limit, us.unit.value) == (Decimal("1.00"), Decimal("1.25"), "lbf ft")
    metric = judge_largest_energy(1.0, 0.0, LIMITS, metric=True)
    assert (metric.energy, metric.limit, metric.unit.value) == (
        Decimal("1.00"),
        Decimal("1.69"),
        "J",
    )
    assert "a156.19" in us.source.lower() or "A156.19" in us.source


@given(st.floats(0.01, 5.0), st.floats(0.0, 1.0))
def test_more_energy_or_more_doubt_never_helps(energy: float, doubt: float) -> None:
    order = [Verdict.PASS, Verdict.TOO_CLOSE, Verdict.FAIL]
    here = order.index(judge_largest_energy(energy, doubt, LIMITS, metric=True).verdict)
    more = order.index(judge_largest_energy(energy * 1.1, doubt, LIMITS, metric=True).verdict)
    vaguer = order.index(judge_largest_energy(energy, doubt + 0.1, LIMITS, metric=True).verdict)
    assert here <= more and here <= vaguer


def test_an_estimated_weight_makes_the_inertia_most_doubtful() -> None:
    shares = [inertia_share(source) for source in (WeightSource.SCALE, None, WeightSource.ESTIMATE)]
    assert shares == sorted(shares)
    assert inertia_share(WeightSource.ESTIMATE) == pytest.approx(0.115, abs=0.001)
