"""When a step applies, and which conditions exclude each other."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations, product
from random import Random

import pytest

from handsfree.job.door_feature import FEATURES
from handsfree.job.feature_values import with_opening_feature
from handsfree.job.job import Fact, Job, Sheet
from handsfree.job.opening import Leaf, Lock, Motor, Opening, Side, Swing
from handsfree.job.reading import Subject
from handsfree.procedure.condition import CONDITIONS, exclusive_pairs
from handsfree.procedure.step import Step
from handsfree.procedure.task_selection import applies

FOUND = ("complaint is slams", "complaint is stays_open", "signs is slams")
ALL = [
    *(*CONDITIONS, *FOUND),
    *(f"not {condition}" for condition in (*CONDITIONS, *FOUND)),
]


def step(*conditions: str) -> Step:
    return Step(
        id="s", stage="t", applies=conditions, prompt="Look.", brief="Look.", waits="done", why="."
    )


def openings() -> Iterator[Opening]:
    """Openings of every kind that the conditions distinguish."""
    yes_or_no = (True, False)
    for swing, lock, fire_rated, sensors, astragal, spring, vestibule in product(
        Swing, Lock, yes_or_no, yes_or_no, yes_or_no, yes_or_no, yes_or_no
    ):
        sides = (Side.LEFT,) if swing is Swing.SINGLE else (Side.LEFT, Side.RIGHT)
        yield Opening(
            name="hall",
            seen_from="corridor",
            swing=swing,
            leaves=tuple(Leaf(name=side) for side in sides),
            motors=tuple(Motor(number=nth) for nth, _ in enumerate(sides, 1)),
            lock=lock,
            fire_rated=fire_rated,
            sensors=sensors,
            astragal=astragal,
            power_fail_spring=spring,
            vestibule=vestibule,
        )


def fitted(opening: Opening, random: Random) -> Opening:
    """The opening with a value, drawn at random, of each feature that no field of it holds."""
    for name, feature in FEATURES.items():
        if feature.of == "opening" and name not in Opening.model_fields:
            opening = with_opening_feature(opening, name, random.choice(feature.values))
    return opening.model_copy(update={"controller_removed": random.random() < 0.5})


def opened(opening: Opening) -> Job:
    return Job.open(Sheet(reference="T", site="a test", technician="nobody", opening=opening))


def complained(job: Job, value: str, subject: Subject = Subject.OPENING) -> Job:
    return job.with_fact(Fact(subject=subject, name="complaint", value=value))


@pytest.mark.slow
def test_two_conditions_are_refused_just_where_no_opening_keeps_both():
    random = Random(1)
    jobs = [opened(fitted(opening, random)) for opening in openings()]
    jobs += [complained(job, value) for job in jobs for value in ("slams", "stays_open")]
    jobs += [
        job.with_fact(Fact(subject=Subject.OPENING, name="signs", value="slams")) for job in jobs
    ]
    jobs += [
        job.with_fact(Fact(subject=Subject.OPENING, name="arm", value="not_in_order"))
        for job in jobs
    ]
    for one, other in combinations(ALL, 2):
        both = step(one, other)
        possible = any(applies(both, each) for each in jobs)
        assert (list(exclusive_pairs((one, other))) == []) is possible, (one, other)


def test_a_fact_is_that_of_the_opening_and_unknown_until_it_is_found():
    job = opened(next(openings()))
    assert not applies(step("complaint is slams"), job)
    assert applies(step("not complaint is slams"), job)
    assert applies(step("complaint is slams"), complained(job, "slams"))
    assert not applies(step("complaint is slams"), complained(job, "slams", Subject.LEFT_LEAF))
    assert not applies(step("complaint is slams"), complained(job, "stays_open"))
