"""The stated use of each quantity, compared with the checks."""

from __future__ import annotations

import pytest

from handsfree.checks.applicable_limits import applicable_limits
from handsfree.checks.limits import load_limits, shipped_limits
from handsfree.job.job import Job, Sheet
from handsfree.job.leaf_construction import SolidWood
from handsfree.job.opening import Leaf, Opening, Side, Swing
from handsfree.job.quantity import QUANTITIES, Quantity
from handsfree.job.reading import Reading, Subject, Taken

LIMITS = [load_limits(name) for name in shipped_limits()]
LEAF = Subject.LEFT_LEAF


def with_reading(job: Job, quantity: Quantity) -> Job:
    facts = QUANTITIES[quantity]
    return job.with_reading(
        Reading(
            id=quantity,
            quantity=quantity,
            subject=LEAF,
            value=(facts.low + facts.high) / 2,
            unit=facts.unit,
            taken=Taken.SAID,
        )
    )


@pytest.fixture(scope="module")
def timed() -> Job:
    """A wooden leaf of which only the opening time was read."""
    leaf = Leaf(name=Side.LEFT, construction=SolidWood())
    opening = Opening(name="o", seen_from="s", swing=Swing.SINGLE, leaves=(leaf,), motors=())
    sheet = Sheet(reference="r", site="s", technician="t", opening=opening)
    return with_reading(Job.open(sheet), Quantity.OPENING_TIME)


def judged(job: Job, quantity: Quantity) -> bool:
    return any(applicable_limits(job, limits, quantity, LEAF) for limits in LIMITS)


def sets_a_limit(job: Job, quantity: Quantity) -> bool:
    """True if the size changes the time that an opening needs."""
    sizes = {Quantity.LEAF_WIDTH, Quantity.LEAF_HEIGHT, Quantity.LEAF_WEIGHT} - {quantity}
    for beside in (sizes, sizes - {Quantity.LEAF_WEIGHT}):
        before = job
        for size in sorted(beside):
            before = with_reading(before, size)
        after = with_reading(before, quantity)
        if any(
            applicable_limits(before, limits, Quantity.OPENING_TIME, LEAF)
            != applicable_limits(after, limits, Quantity.OPENING_TIME, LEAF)
            for limits in LIMITS
        ):
            return True
    return False


@pytest.mark.parametrize("quantity", Quantity)
def test_a_reading_is_used_as_it_is_said_to_be(timed: Job, quantity: Quantity) -> None:
    use = QUANTITIES[quantity].use
    assert judged(timed, quantity) is (use == "judged")
    if use != "judged":
        assert sets_a_limit(timed, quantity) is (use == "sets a limit")
