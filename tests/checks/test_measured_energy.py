"""The largest energy of a measured leaf replaces the energy at mean speed."""

from __future__ import annotations

from decimal import Decimal

import pytest

from handsfree.checks.evaluate import changed, judge
from handsfree.checks.leaf_energy import RULES
from handsfree.checks.measured_energy import MEASURED_RULES
from handsfree.checks.measurement_uncertainty import TIMED_SD_S, uncertainty_of
from handsfree.job.finding import Finding, Verdict
from handsfree.job.job import Job, Sheet
from handsfree.job.opening import Leaf, Opening, Side, Swing, WeightSource
from handsfree.job.quantity import Quantity
from handsfree.job.reading import LargestSpeed, Reading, Subject, Taken
from handsfree.job.unit import Measure, Unit

OPENING = MEASURED_RULES[Quantity.OPENING_TIME]
AT_MEAN_SPEED = set(RULES.values())


def a_job(weight: str = "150", source: WeightSource = WeightSource.SCALE) -> Job:
    leaf = Leaf(
        name=Side.LEFT,
        width=Measure(value=Decimal(36), unit=Unit.INCH),
        weight=Measure(value=Decimal(weight), unit=Unit.POUND),
        weight_source=source,
        open_angle_deg=Decimal(90),
    )
    opening = Opening(
        name="hall", seen_from="street", swing=Swing.SINGLE, leaves=(leaf,), motors=()
    )
    return Job.open(Sheet(reference="1", site="hall", technician="A. Oduya", opening=opening))


def taken(
    seconds: str,
    deg_s: str | None,
    quantity: Quantity = Quantity.OPENING_TIME,
    attempt: int = 1,
    run: int = 1,
) -> Reading:
    speed = (
        None
        if deg_s is None
        else LargestSpeed(deg_s=Decimal(deg_s), at_deg=Decimal(26), share=Decimal("0.01"))
    )
    return Reading(
        id=f"{quantity}-{attempt}-{run}",
        quantity=quantity,
        subject=Subject.LEFT_LEAF,
        value=Decimal(seconds),
        unit=Unit.SECOND,
        taken=Taken.SENSOR,
        attempt=attempt,
        run=run,
        marks_s=Decimal("0.004"),
        log="leaf.csv",
        largest_speed=speed,
    )


def energy_of(job: Job, limits) -> list[Finding]:
    known = AT_MEAN_SPEED | set(MEASURED_RULES.values())
    return [found for found in judge(job, limits) if found.rule in known]


# By hand: 150 lb = 68.04 kg, 36 in = 0.9144 m, I = m b^2 / 3 = 18.963 kg m2. At 30.8 degrees a
# second (0.53756 rad/s) I w^2 / 2 = 2.740 J = 2.02 lbf ft; at 20 degrees a second 0.85 lbf ft.
@pytest.mark.parametrize(
    ("deg_s", "energy", "verdict"),
    [("30.8", "2.02", Verdict.FAIL), ("20", "0.85", Verdict.PASS), ("24", "1.23", "close")],
)
def test_the_largest_energy_is_judged_and_the_mean_one_is_not(a156, deg_s, energy, verdict):
    (found,) = energy_of(a_job().with_reading(taken("3.8", deg_s)), a156)
    assert found.rule == OPENING and found.reading == Decimal(energy)
    assert found.verdict is (Verdict.TOO_CLOSE if verdict == "close" else verdict)
    assert "largest energy" in found.why


def test_its_advice_never_says_that_the_leaf_has_to_move_evenly(a156):
    quiet = energy_of(a_job().with_reading(taken("3.8", "20")), a156)
    by_hand = energy_of(a_job().with_reading(taken("3.8", None)), a156)
    assert not quiet[0].advice and "mean" in by_hand[0].advice


def test_a_leaf_that_is_too_fast_is_slowed_and_one_too_close_is_weighed(a156):
    (fails,) = energy_of(a_job().with_reading(taken("3.8", "30.8")), a156)
    assert "slow the opening of the left leaf" in fails.advice and "ramp" in fails.advice
    label = a_job(source=WeightSource.LABEL).with_reading(taken("3.8", "24"))
    assert "weigh the leaf" in energy_of(label, a156)[0].advice
    scale = a_job().with_reading(taken("3.8", "24"))
    assert "weigh the leaf" not in energy_of(scale, a156)[0].advice


def test_the_stretch_beyond_backcheck_is_part_of_the_largest_energy_of_the_opening(a156):
    times = {Quantity.OPENING_TIME: ("3.8", "20"), Quantity.TOTAL_OPENING_TIME: ("5.6", None)}
    job = a_job()
    for quantity, (seconds, deg_s) in times.items():
        job = job.with_reading(taken(seconds, deg_s, quantity))
    assert [found.rule for found in energy_of(job, a156)] == [OPENING]


def test_the_fastest_run_counts(a156):
    job = a_job().with_reading(taken("3.8", "30.8")).with_reading(taken("3.8", "20", run=2))
    assert energy_of(job, a156)[0].reading == Decimal("2.02")


def test_a_stopwatch_after_an_adjustment_is_judged_at_mean_speed_again(a156):
    job = a_job().with_reading(taken("3.8", "30.8")).with_reading(taken("5", None, attempt=2))
    assert [found.rule for found in energy_of(job, a156)] == ["opening energy"]


def test_a_leaf_that_is_weighed_later_is_judged_anew(a156):
    before = a_job().with_reading(taken("3.8", "24"))
    weighed = Reading(
        id="w",
        quantity=Quantity.LEAF_WEIGHT,
        subject=Subject.LEFT_LEAF,
        value=Decimal(170),
        unit=Unit.POUND,
        taken=Taken.TYPED,
    )
    found = changed(before, before.with_reading(weighed), a156)
    assert [each.verdict for each in found if each.rule == OPENING] == [Verdict.FAIL]


def test_no_person_is_in_the_doubt_of_a_time_by_a_sensor() -> None:
    doubt = uncertainty_of((taken("3.8", None),), Unit.SECOND)
    assert doubt.known_sd == pytest.approx(0.004) and doubt.known_sd < TIMED_SD_S
