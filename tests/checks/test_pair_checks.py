"""A pair is judged as a whole: both leaves, their difference, the closing order."""

from __future__ import annotations

from decimal import Decimal

import pytest

from handsfree.checks.full_check import check_job
from handsfree.checks.pair_checks import asymmetry, judge_pair
from handsfree.job.finding import Verdict
from handsfree.job.job import Fact
from handsfree.job.quantity import Quantity
from handsfree.job.reading import Subject

from .conftest import a_job, a_pair, read


def test_what_was_read_of_one_leaf_is_missed_of_the_other(a156):
    job = read(a_pair(), Quantity.CLOSING_TIME, "5", subject=Subject.RIGHT_LEAF)
    (found,) = judge_pair(job, a156)
    assert (found.subject, found.verdict) == (Subject.LEFT_LEAF, Verdict.NOT_JUDGED)
    assert "closing time of the left leaf was not read" in found.why
    assert check_job(job, a156).verdict is Verdict.NOT_JUDGED


def test_the_sizes_of_the_leaves_and_a_single_leaf_miss_nothing(a156):
    assert judge_pair(read(a_pair(), Quantity.LEAF_WIDTH, "36in"), a156) == ()
    assert judge_pair(read(a_job(), Quantity.CLOSING_TIME, "5"), a156) == ()


@pytest.mark.parametrize(
    ("seen", "verdict"), [("in_order", Verdict.PASS), ("not_in_order", Verdict.FAIL)]
)
def test_the_order_of_closing_is_a_finding_once_somebody_looked(a156, seen, verdict):
    """NFPA 80 inspection list: the inactive leaf closes first (seen)."""
    job = a_pair(astragal=True)
    assert judge_pair(job, a156) == ()
    looked = job.with_fact(Fact(subject=Subject.OPENING, name="latch_order", value=seen))
    (found,) = judge_pair(looked, a156)
    assert found.verdict is verdict
    assert "NFPA 80" in found.source


@pytest.mark.parametrize(
    ("right", "told"),
    # Two single timings of SD 0.10 s differ by chance up to 1.96·0.10·√2 = 0.28 s.
    [("5.28", 0), ("5.30", 1)],
)
def test_leaves_differ_when_the_doubt_does_not_explain_it(right, told):
    job = read(a_pair(), Quantity.CLOSING_TIME, "5")
    job = read(job, Quantity.CLOSING_TIME, right, subject=Subject.RIGHT_LEAF)
    assert len(asymmetry(job)) == told
    assert all("5 seconds on the left leaf and 5.3 on the right" in said for said in asymmetry(job))


def test_leaves_that_are_read_in_different_units_are_compared_all_the_same():
    """12 lbf is 53.38 N: nothing differs by more than half a pound."""
    job = read(a_pair(), Quantity.OPENING_FORCE, "12lbf")
    job = read(job, Quantity.OPENING_FORCE, "53.4N", subject=Subject.RIGHT_LEAF)
    assert asymmetry(job) == ()
    assert job.readings[0].value == Decimal(12)
