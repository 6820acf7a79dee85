"""The order in which the office should doubt readings."""

from __future__ import annotations

from decimal import Decimal

from hypothesis import given
from hypothesis import strategies as st

from handsfree.job.finding import Finding
from handsfree.job.quantity import Quantity
from handsfree.job.unit import Unit
from handsfree.visit_record.review_priority import Hearing, attempt_of, review_score

from .test_readings import finding, reading


def doubt(value: object, *findings: Finding, runs=(), again: int = 0, superseded=False) -> float:
    now = reading("r1", value)
    together = attempt_of((*runs, now))
    hearing = Hearing(again=again)
    return review_score(now, findings, together, hearing, superseded=superseded).score


def near(distance: str) -> Finding:
    limit = Decimal("3.5")
    more = {"reading": limit + Decimal(distance), "limit": limit, "unit": "s"}
    return finding("r1", guard_band=Decimal("0.2"), **more)


@given(st.decimals("0", "5", places=2), st.decimals("0", "5", places=2))
def test_nearer_to_the_limit_is_never_doubted_less(one, other):
    closer, farther = sorted((one, other))
    assert doubt("4", near(str(closer))) >= doubt("4", near(str(farther)))


@given(st.integers(0, 9), st.integers(0, 9))
def test_what_was_hard_to_hear_is_doubted_more_and_never_wholly(one, other):
    less, more = sorted((one, other))
    assert 0 <= doubt("4", again=less) <= doubt("4", again=more) < 1


def test_a_run_apart_from_its_others_a_seldom_value_and_a_wrong_unit_raise_the_doubt():
    assert doubt("4") == 0
    assert doubt("6", runs=(reading("r2", "4"), reading("r3", "4.1"))) > 0
    assert doubt("4.05", runs=(reading("r2", "4"), reading("r3", "4.1"))) == 0
    assert doubt("19.9") > 0
    assert doubt("4", near("0.1"), superseded=True) < doubt("4", near("0.1"))
    pounds = reading("r1").model_copy(update={"unit": Unit.POUND})
    assert review_score(pounds, (), attempt_of((pounds,)), Hearing()).score == 1


def test_no_number_of_a_controllers_own_setting_is_seldom():
    for value in ("0", "5", "990"):
        told = {"quantity": Quantity.OPENING_SPEED, "value": Decimal(value), "unit": Unit.STEP}
        now = reading("r1").model_copy(update=told)
        found = review_score(now, (), attempt_of((now,)), Hearing())
        assert not found.alone and found.why == ()


def test_of_two_that_are_equally_doubtful_the_one_without_its_affirm_comes_first():
    now = reading("r1", "4")
    for again in range(3):
        score = {
            how: review_score(
                now, (near("0.1"),), attempt_of((now,)), Hearing(again=again, how=how)
            ).score
            for how in ("explicit", "typed", "implicit")
        }
        assert score["implicit"] > score["explicit"] == score["typed"]
    wordless = review_score(now, (), attempt_of((now,)), Hearing(how="implicit")).score
    assert wordless < doubt("4", near("0.1"))
