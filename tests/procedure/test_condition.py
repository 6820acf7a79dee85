"""Conditions of a step that exclude each other."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations, product

from handsfree.job.job import Job, Sheet
from handsfree.job.opening import Leaf, Lock, Motor, Opening, Side, Swing
from handsfree.procedure.choose import applies
from handsfree.procedure.condition import CONDITIONS, never_together
from handsfree.procedure.step import Step

ALL = [*CONDITIONS, *(f"not {condition}" for condition in CONDITIONS)]


def step(*conditions: str) -> Step:
    return Step(
        id="s", stage="t", applies=conditions, prompt="Look.", brief="Look.", waits="done", why="."
    )


def openings() -> Iterator[Opening]:
    """Openings of every kind that the conditions tell apart."""
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


def test_two_conditions_are_refused_just_where_no_opening_keeps_both():
    jobs = [
        Job.open(Sheet(reference="T", site="a test", technician="nobody", opening=opening))
        for opening in openings()
    ]
    for one, other in combinations(ALL, 2):
        possible = any(applies(step(one, other), each) for each in jobs)
        assert (list(never_together((one, other))) == []) is possible, (one, other)
