"""Doors outside the low-energy limits: said once, and nothing about them is judged."""

from __future__ import annotations

import pytest

from handsfree.checks.evaluate import changed, judge
from handsfree.checks.full_check import check_job
from handsfree.checks.limit_sentence import limit_for
from handsfree.job.finding import Verdict
from handsfree.job.opening import Activation, Operator
from handsfree.job.quantity import Quantity
from handsfree.job.reading import Subject

from .conftest import a_job, read, with_opening

OUTSIDE = [
    ({"activation": Activation.MOTION_SENSOR}, "a motion sensor opens this door"),
    ({"operator": Operator.FULL_ENERGY}, "opens faster than a low energy door"),
    ({"operator": Operator.POWER_ASSIST}, "power assist doors are not judged here"),
]
KNOWING = [each for each in Activation if each is not Activation.MOTION_SENSOR]


@pytest.mark.parametrize(("of_door", "why"), OUTSIDE)
def test_it_is_said_once_and_never_green(a156, of_door, why):
    """A156.19 1.1 and 2.1 (seen); power assist is a third kind (common practice)."""
    job = with_opening(a_job(), **of_door)
    for quantity in (Quantity.OPENING_TIME, Quantity.CLOSING_TIME, Quantity.LATCHING_TIME):
        job = read(job, quantity, "9")
    job = read(job, Quantity.SIGN_HEIGHT, "50", subject=Subject.NEAR_SIDE)
    (found,) = judge(job, a156)
    assert (found.verdict, found.subject) == (Verdict.NOT_JUDGED, Subject.OPENING)
    checked = check_job(job, a156)
    assert checked.verdict is Verdict.NOT_JUDGED
    assert checked.line.startswith("Not judged: ") and why in checked.line
    assert (checked.least_times, checked.not_read) == ((), ())


def test_a_reading_of_such_a_door_says_nothing_more(a156):
    job = with_opening(a_job(), activation=Activation.MOTION_SENSOR)
    after = read(job, Quantity.OPENING_TIME, "1")
    assert changed(job, after, a156) == ()
    told = limit_for(job, a156, Quantity.OPENING_TIME, Subject.LEFT_LEAF)
    assert told is not None and told.startswith("A motion sensor opens this door")


@pytest.mark.parametrize("activation", KNOWING)
def test_a_knowing_act_makes_a_low_energy_door(a156, activation):
    """Plate, touchless switch, key switch, card reader, keypad, transmitter, by hand (seen)."""
    job = with_opening(a_job(), activation=activation)
    assert judge(read(job, Quantity.LATCHING_TIME, "1.0"), a156)[0].verdict is Verdict.FAIL
