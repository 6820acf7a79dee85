from collections.abc import Callable
from decimal import Decimal

import pytest
from pydantic import ValidationError

from handsfree.job.job import Fact, Job, Sheet
from handsfree.job.opening import Action, Leaf, Lock, Motor, Opening, Side, Swing, WeightSource
from handsfree.job.quantity import Quantity
from handsfree.job.reading import Reading, Subject, Taken
from handsfree.job.unit import Measure, Unit

LEFT = Subject.LEFT_LEAF


def reading(
    name: str, quantity: Quantity, value: str, unit: Unit, attempt: int = 1, run: int = 1
) -> Reading:
    return Reading(
        id=name,
        quantity=quantity,
        subject=LEFT,
        value=value,
        unit=unit,
        taken=Taken.SAID,
        attempt=attempt,
        run=run,
    )


@pytest.fixture
def job() -> Job:
    leaves = (Leaf(name=Side.LEFT), Leaf(name=Side.RIGHT))
    opening = Opening(
        name="pair",
        seen_from="corridor",
        swing=Swing.SAME_WAY,
        leaves=leaves,
        motors=(Motor(number=1), Motor(number=2)),
    )
    return Job.open(Sheet(reference="T", site="a test", technician="nobody", opening=opening))


def test_a_width_becomes_the_width_of_its_leaf_until_it_is_withdrawn(job: Job) -> None:
    first = job.with_reading(reading("r1", Quantity.LEAF_WIDTH, "36", Unit.INCH))
    second = first.with_reading(reading("r2", Quantity.LEAF_WIDTH, "42", Unit.INCH))
    left, right = second.opening.leaves
    assert left.width == Measure(value="42", unit=Unit.INCH)
    assert right.width is None
    assert second.without_reading("r2") == first
    assert first.without_reading("r1") == job


def test_a_backcheck_angle_is_kept_in_degrees(job: Job) -> None:
    after = job.with_reading(reading("r1", Quantity.BACKCHECK_ANGLE, "75", Unit.DEGREE))
    assert after.opening.leaves[0].backcheck_angle_deg == Decimal(75)


def test_as_found_is_the_first_attempt_and_as_left_the_last(job: Job) -> None:
    for name, value, attempt, run in [
        ("r1", "2.1", 1, 1),
        ("r2", "4.1", 2, 1),
        ("r3", "4.2", 2, 2),
    ]:
        job = job.with_reading(
            reading(name, Quantity.OPENING_TIME, value, Unit.SECOND, attempt, run)
        )
    assert [r.id for r in job.as_found(Quantity.OPENING_TIME, LEFT)] == ["r1"]
    assert [r.id for r in job.runs(Quantity.OPENING_TIME, LEFT)] == ["r2", "r3"]
    assert job.runs(Quantity.OPENING_TIME, Subject.RIGHT_LEAF) == ()
    assert job.latest(Quantity.CLOSING_TIME, LEFT) is None


@pytest.mark.parametrize(
    ("subject", "name", "value", "seen"),
    [
        (LEFT, "hinge_side", "left", lambda o: o.leaves[0].hinge_side is Side.LEFT),
        (LEFT, "action", "pull", lambda o: o.leaves[0].action is Action.PULL),
        (LEFT, "weight_source", "scale", lambda o: o.leaves[0].weight_source is WeightSource.SCALE),
        (Subject.MOTOR_TWO, "leaf", "right", lambda o: o.motors[1].leaf is Side.RIGHT),
        (Subject.MOTOR_TWO, "hand", "left", lambda o: o.motors[1].hand is Side.LEFT),
        (Subject.OPENING, "swing", "double_egress", lambda o: o.swing is Swing.DOUBLE_EGRESS),
        (Subject.OPENING, "lock", "strike", lambda o: o.lock is Lock.STRIKE),
    ],
)
def test_the_opening_follows_a_fact(
    job: Job, subject: Subject, name: str, value: str, seen: Callable[[Opening], bool]
) -> None:
    after = job.with_fact(Fact(subject=subject, name=name, value=value))
    assert not seen(job.opening)
    assert seen(after.opening)
    assert after.fact(subject, name) == value


def test_a_later_fact_replaces_the_earlier_one(job: Job) -> None:
    job = job.with_fact(Fact(subject=LEFT, name="latches", value="not_in_order"))
    job = job.with_fact(Fact(subject=LEFT, name="latches", value="in_order"))
    assert [fact.value for fact in job.facts] == ["in_order"]


def test_a_fact_of_an_old_journal_has_an_empty_clip_of_a_note():
    old = {"subject": "opening", "name": "lock", "value": "strike", "note_clip": None}
    assert Fact.model_validate(old) == Fact(subject=Subject.OPENING, name="lock", value="strike")
    with pytest.raises(ValidationError, match="note_clip"):
        Fact.model_validate({**old, "note_clip": "clips/1.flac"})
