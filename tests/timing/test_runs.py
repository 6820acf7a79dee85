"""Several runs: the mean, its doubt, and whether another run would decide."""

from __future__ import annotations

import statistics
from decimal import Decimal

import numpy as np
import pytest

from handsfree.job.finding import Verdict
from handsfree.job.quantity import Quantity
from handsfree.timing.cycle import Cycle, cycle_of
from handsfree.timing.runs import another_run_helps, doubt_of_intervals, outlook
from tests.timing.test_cycle import marks_at

LEAST_S = {Quantity.OPENING_TIME: Decimal("3.5")}


def runs_of(*opening_s: float) -> list[Cycle]:
    return [cycle_of(marks_at(1, 1 + each, 8, 14, 18, 20)) for each in opening_s]


@pytest.mark.parametrize(
    ("opening_s", "verdict", "more_runs", "helps"),
    [
        ((4.1,), Verdict.PASS, 0, False),
        ((3.66,), Verdict.TOO_CLOSE, 2, True),
        ((3.55,), Verdict.TOO_CLOSE, None, False),
        ((3.2,), Verdict.FAIL, 0, False),
        ((3.55, 3.56, 3.54, 3.56, 3.55), Verdict.TOO_CLOSE, None, False),
    ],
)
def test_another_run_is_asked_for_only_where_it_should_decide(
    opening_s: tuple[float, ...], verdict: Verdict, more_runs: int | None, helps: bool
):
    found = outlook(runs_of(*opening_s), LEAST_S)

    assert [(each.verdict, each.more_runs) for each in found] == [(verdict, more_runs)]
    assert another_run_helps(found) is helps


def test_a_run_that_lacks_the_time_counts_for_the_others_only():
    short = cycle_of(marks_at(1, 5, 8))

    (found,) = outlook([*runs_of(3.9), short], LEAST_S)

    assert found.doubt.runs == 1


def test_the_mean_carries_marks_and_observer():
    intervals = [run.interval(Quantity.OPENING_TIME) for run in runs_of(3.9, 4.0, 4.1)]

    doubt = doubt_of_intervals(intervals)

    assert doubt.mean == Decimal("4.000")
    assert doubt.spread == pytest.approx(statistics.stdev([3.9, 4.0, 4.1]))
    assert doubt.known_sd == pytest.approx((0.10**2 + 2 * 0.01**2) ** 0.5)
    with pytest.raises(ValueError, match="no run"):
        doubt_of_intervals([])


def test_an_observers_delay_cancels_and_the_spread_covers_the_scatter():
    """One event is met 0.11 s late with SD 0.07 s: Am. J. Phys. 87(2), 110 (2019), seen."""
    rng = np.random.default_rng(7)
    late = rng.normal(0.11, 0.07, (4000, 2))
    true_s = 4.0
    taken = true_s + late[:, 1] - late[:, 0]
    run = cycle_of(marks_at(1, 5, 8, 14, 18, 20, uncertainty_s=0.005))
    stated = run.interval(Quantity.OPENING_TIME).uncertainty_s

    assert np.mean(taken) == pytest.approx(true_s, abs=0.005)
    assert np.std(taken) == pytest.approx(stated, rel=0.05)
    assert np.mean(np.abs(taken - true_s) <= 1.96 * stated) == pytest.approx(0.95, abs=0.015)
