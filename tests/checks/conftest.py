"""A job with one leaf, and readings by short names."""

from __future__ import annotations

from decimal import Decimal

import pytest

from handsfree.checks.limits import LimitSet, load_limits
from handsfree.job.job import Job, Sheet
from handsfree.job.opening import Leaf, Opening, Side, Swing, WeightSource
from handsfree.job.quantity import QUANTITIES, Quantity
from handsfree.job.reading import Reading, Subject, Taken
from handsfree.job.unit import Family, parse_measure


def a_job(
    width: str = "36in", weight: str = "150lb", source: WeightSource = WeightSource.LABEL
) -> Job:
    leaf = Leaf(
        name=Side.LEFT,
        width=parse_measure(width, Family.LENGTH),
        weight=parse_measure(weight, Family.MASS),
        weight_source=source,
    )
    opening = Opening(name="o", seen_from="s", swing=Swing.SINGLE, leaves=(leaf,), motors=())
    return Job.open(Sheet(reference="r", site="s", technician="t", opening=opening))


def a_pair(**changed: object) -> Job:
    """Two leaves of 36 in by 150 lb; ``changed`` replaces fields of the opening."""
    (leaf,) = a_job().opening.leaves
    leaves = (leaf, leaf.model_copy(update={"name": Side.RIGHT}))
    opening = a_job().opening.model_copy(
        update={"swing": Swing.SAME_WAY, "leaves": leaves, **changed}
    )
    return Job.open(a_job().sheet.model_copy(update={"opening": opening}))


def with_leaf(job: Job, **changed: object) -> Job:
    """The job with fields of its first leaf replaced."""
    leaf = job.sheet.opening.leaves[0].model_copy(update=changed)
    opening = job.sheet.opening.with_leaf(leaf)
    return Job.open(job.sheet.model_copy(update={"opening": opening}))


def with_opening(job: Job, **changed: object) -> Job:
    """The job with fields of its opening replaced."""
    opening = job.sheet.opening.model_copy(update=changed)
    return Job.open(job.sheet.model_copy(update={"opening": opening}))


def read(
    job: Job,
    quantity: Quantity,
    *values: str,
    subject: Subject = Subject.LEFT_LEAF,
    attempt: int = 1,
) -> Job:
    """The job with the values as runs of one attempt, in the quantity's own unit."""
    for run, value in enumerate(values, start=1):
        facts = QUANTITIES[quantity]
        measure = parse_measure(value, facts.family, facts.unit)
        reading = Reading(
            id=f"{subject}-{quantity}-{attempt}-{run}",
            quantity=quantity,
            subject=subject,
            value=Decimal(measure.value),
            unit=measure.unit,
            taken=Taken.SAID,
            attempt=attempt,
            run=run,
        )
        job = job.with_reading(reading)
    return job


@pytest.fixture(scope="session")
def en16005() -> LimitSet:
    return load_limits("en16005")


@pytest.fixture(scope="session")
def a156() -> LimitSet:
    return load_limits("a156.19")
