"""Each fault has its effect on the door, and a visit's evidence of it is recognized."""

from __future__ import annotations

from random import Random

import pytest

from handsfree.errors import RehearsalError
from handsfree.job.job import Fact, Job
from handsfree.job.opening import Side
from handsfree.job.reading import LEAF_SUBJECT, Subject
from handsfree.journal import events as ev
from handsfree.rehearsal import observations
from handsfree.rehearsal.door import Door
from handsfree.rehearsal.door_spec import DoorSpec, Fault
from handsfree.rehearsal.faults import KINDS, add_fault, is_found, make_fault, possible, subjects_of

LEFT, RIGHT = Side.LEFT, Side.RIGHT


def faulty(spec: DoorSpec, name: str, subject: Subject | None = None) -> Door:
    on = subject or subjects_of(spec, name)[0]
    return Door(add_fault(spec, Fault(name=name, subject=on)))


def test_swapped_motors_are_driven_by_the_other_leafs_settings(pair):
    plain, swapped = Door(pair), faulty(pair, "motors swapped")
    assert swapped.truth(LEFT).opening_time_s > plain.truth(LEFT).opening_time_s + 0.3
    swapped.set(RIGHT, "opening_speed", 4)
    assert swapped.truth(LEFT).opening_time_s > 8
    assert observations.leaf_of_motor(swapped, Subject.MOTOR_ONE) is RIGHT


def test_a_wrong_hand_opens_nothing_and_can_be_read_off_the_motor(pair):
    door = faulty(pair, "wrong hand")
    assert door.truth(RIGHT).end == "did not open"
    assert door.truth(LEFT).end == "shut"
    assert observations.hand_of_motor(door, Subject.MOTOR_TWO) is LEFT


def test_settings_that_are_faults(pair):
    assert faulty(pair, "latch too quick").truth(LEFT).latching_time_s < 1.3
    assert faulty(pair, "hold open too short").truth(LEFT).hold_open_time_s < 4.2
    quick = faulty(pair, "opens too quick").truth(LEFT)
    assert quick.opening_time_s < 2.8 or quick.opening_peak_j > 1.9
    assert faulty(pair, "pushes too hard").stall_n(LEFT, "opening") > 72


@pytest.mark.slow
def test_a_hard_ramp_has_too_much_energy_whatever_its_speed(pair, single):
    for spec in (pair, single):
        door = faulty(spec, "hard ramp")
        assert door.truth(LEFT).opening_peak_j > 1.69
        door.set(LEFT, "opening_speed", 5)
        assert door.truth(LEFT).opening_peak_j > 1.69
        assert door.truth(LEFT).opening_time_s > 3.5


def test_what_binds_does_not_latch_or_is_dead(pair):
    binds = faulty(pair, "leaf binds")
    assert binds.body(LEFT).open_fully_n() > Door(pair).body(LEFT).open_fully_n() + 10
    assert faulty(pair, "does not latch").truth(LEFT).end == "did not shut"
    assert not faulty(pair, "sensor dead").sensor_acts(LEFT)
    dead = faulty(pair, "plate dead", Subject.RIGHT_PLATE)
    assert dead.plate_works(Subject.LEFT_PLATE) and not dead.plate_works(Subject.RIGHT_PLATE)


@pytest.mark.parametrize("name", KINDS)
def test_a_repair_takes_it_away(pair, name):
    door = Door(add_fault(pair, make_fault(pair, name, Random(1))))
    assert door.has(name)
    door.repair(name)
    assert not door.has(name)


def test_a_single_leaf_has_no_motors_to_swap(single):
    assert "motors swapped" not in possible(single)
    with pytest.raises(RehearsalError, match="it needs two leaves"):
        make_fault(single, "motors swapped", Random(0))


def test_a_fault_by_another_name(pair):
    with pytest.raises(RehearsalError, match="did you mean 'plate dead'"):
        make_fault(pair, "plate deed", Random(0))


def test_a_scale_that_is_too_short_for_a_fault(pair):
    operator = pair.operator.model_copy(update={"high": 9})
    with pytest.raises(RehearsalError, match="no setting for the fault 'latch too quick'"):
        faulty(pair.model_copy(update={"operator": operator}), "latch too quick")


def test_the_same_seed_gives_the_same_cycles(pair):
    one, two, other = Door(pair, 5), Door(pair, 5), Door(pair, 6)
    first = one.cycle(LEFT)
    assert first == two.cycle(LEFT)
    assert first != other.cycle(LEFT)
    assert first != one.cycle(LEFT), "no cycle is like the one before"


def journal(*bodies: ev.Body) -> tuple[ev.Event, ...]:
    head = {"at": "2099-01-01T00:00:00Z", "prev": "0" * 64}
    return tuple(
        ev.Event.model_validate({"seq": nth, "body": body.model_dump(), **head})
        for nth, body in enumerate(bodies)
    )


def observed(subject: Subject, name: str, value: str) -> ev.FactAccepted:
    return ev.FactAccepted(fact=Fact(subject=subject, name=name, value=value))


def test_evidence_counts_only_for_what_it_is_about(pair):
    job = Job.open(pair.sheet)
    binds = Fault(name="leaf binds", subject=LEAF_SUBJECT[LEFT])
    assert not is_found(binds, (), job)
    wrong_leaf = journal(observed(Subject.RIGHT_LEAF, "swings_freely", "not_in_order"))
    assert not is_found(binds, wrong_leaf, job)
    fine = journal(observed(Subject.LEFT_LEAF, "swings_freely", "in_order"))
    assert not is_found(binds, fine, job)
    assert is_found(
        binds, journal(observed(LEAF_SUBJECT[LEFT], "swings_freely", "not_in_order")), job
    )
    quick = Fault(name="latch too quick", subject=LEAF_SUBJECT[LEFT])
    assert is_found(quick, journal(observed(LEAF_SUBJECT[LEFT], "closing", "not_in_order")), job)
    assert not is_found(
        quick, journal(observed(LEAF_SUBJECT[LEFT], "opening", "not_in_order")), job
    )
    swapped = Fault(name="motors swapped", subject=Subject.OPENING)
    assert not is_found(swapped, journal(observed(Subject.MOTOR_ONE, "leaf", "left")), job)
    assert is_found(swapped, journal(observed(Subject.MOTOR_ONE, "leaf", "right")), job)
