"""A person's commands at the door, and the printed answers."""

from __future__ import annotations

from random import Random

import pytest

from handsfree.job.job import Job
from handsfree.job.opening import Side
from handsfree.job.quantity import Quantity
from handsfree.job.reading import Reading, Subject, Taken
from handsfree.job.unit import Unit
from handsfree.recognition.ears import TypedEars
from handsfree.rehearsal.door import Door
from handsfree.rehearsal.door_commands import HELP, DoorCommands
from handsfree.rehearsal.faults import add_fault, make_fault
from handsfree.rehearsal.measurements import MeasuringTools
from handsfree.rehearsal.misreadings import misreadings_in
from handsfree.rehearsal.side_channel import DoorSideChannel


def bench_of(spec, *faults: str) -> tuple[DoorCommands, Door, list]:
    for fault in faults:
        spec = add_fault(spec, make_fault(spec, fault, Random(1)))
    door, watched = Door(spec), []
    return DoorCommands(door, 1, watched.append), door, watched


def test_a_plate_moves_every_leaf(pair):
    bench, _, watched = bench_of(pair)
    assert bench.command(".press right") == [
        "The left leaf is shut again.",
        "The right leaf is shut again.",
    ]
    assert set(watched[0]) == {Side.LEFT, Side.RIGHT}


def test_what_is_wrong_can_be_seen(pair):
    assert "Nothing moves." in bench_of(pair, "plate dead")[0].command(".press left")[0] or (
        "Nothing moves." in bench_of(pair, "plate dead")[0].command(".press right")[0]
    )
    assert "does not move" in bench_of(pair, "wrong hand")[0].command(".press")[1]
    assert any("jumped" in line for line in bench_of(pair, "hard ramp")[0].command(".press"))
    assert bench_of(pair, "sensor dead")[0].command(".board") == ["It pushes against the board."]
    binding = [bench_of(pair, "leaf binds")[0].command(f".swing {side}")[0] for side in Side]
    assert sum("binds halfway" in line for line in binding) == 1
    swapped = bench_of(pair, "motors swapped")[0].command(".look")
    assert "Motor one: on the right leaf, stamped right hand." in swapped


def test_settings_are_turned_within_their_scale(pair):
    bench, door, _ = bench_of(pair)
    assert bench.command(".set left opening_speed 4") == ["left leaf, opening_speed: 4"]
    assert bench.command(".set left opening_speed 999") == ["left leaf, opening_speed: 20"]
    assert door.setting(Side.RIGHT, "opening_speed") == 8
    assert "opening_speed 20" in bench.command(".settings")[0]


@pytest.mark.parametrize(
    ("line", "told"),
    [
        (".set left opening_speed", "Name a leaf, a setting and a number"),
        (".set middle opening_speed 4", "Name a leaf, a setting and a number"),
        (".set left opening_sped 4", "did you mean 'opening_speed'?"),
        (".set left opening_speed -4", "Name a leaf, a setting and a number"),
        (".pres", "did you mean 'press'?"),
        (".", HELP[0]),
        (".help", HELP[0]),
    ],
)
def test_what_it_does_not_know_it_says(pair, line, told):
    assert told in bench_of(pair)[0].command(line)[0]


def test_mending_mends_only_what_is_wrong(pair):
    bench, door, _ = bench_of(pair, "sensor dead")
    assert "is not wrong with this door" in bench.command(".mend plate dead")[0]
    assert bench.command(".mend sensor dead") == ["Repaired."]
    assert not door.has("sensor dead")
    assert bench.mended == ["plate dead", "sensor dead"]


def test_lines_with_a_full_stop_are_for_the_door(pair):
    bench, _, _ = bench_of(pair)
    shown: list[str] = []
    ears = DoorSideChannel(TypedEars([".settings", "affirm", ".bogus"]), bench, shown.extend)
    assert ears.listen().text == "affirm"
    assert shown[0].startswith("left: opening_speed 9")
    assert ears.listen() is None
    assert not ears.can_time and not ears.time(6, 0.1).marks


def reading(quantity: Quantity, value: str, unit: Unit, subject=Subject.LEFT_LEAF) -> Reading:
    return Reading(
        id="r1", quantity=quantity, subject=subject, value=value, unit=unit, taken=Taken.SAID
    )


@pytest.mark.parametrize(
    ("said", "mistaken"),
    [
        (reading(Quantity.LEAF_WIDTH, "36", Unit.INCH), False),
        (reading(Quantity.LEAF_WIDTH, "914", Unit.MILLIMETRE), False),
        (reading(Quantity.LEAF_WIDTH, "63", Unit.INCH), True),
        (reading(Quantity.LEAF_WEIGHT, "105", Unit.POUND), True),
        (reading(Quantity.PLATE_HEIGHT, "40", Unit.INCH, Subject.LEFT_PLATE), False),
        (reading(Quantity.PLATE_HEIGHT, "40", Unit.INCH, Subject.RIGHT_PLATE), True),
        (reading(Quantity.OPENING_TIME, "4.7", Unit.SECOND), False),
        (reading(Quantity.OPENING_TIME, "7.4", Unit.SECOND), True),
        (reading(Quantity.NEXT_SERVICE, "12", Unit.MONTH, Subject.OPENING), False),
    ],
)
def test_a_reading_that_the_door_does_not_bear_out_is_a_mistake(pair, said, mistaken):
    hands = MeasuringTools(Door(pair), Random(1))
    hands.remember(Quantity.OPENING_TIME, Subject.LEFT_LEAF)
    job = Job.open(pair.sheet).with_reading(said)
    assert bool(misreadings_in(job, pair, hands)) is mistaken


def test_a_persons_stopwatch_scatters_as_the_source_says(pair):
    """SD 0.10 s of an interval, and no bias (Am. J. Phys. 87(2), 110, 2019: seen)."""
    door = Door(
        pair.model_copy(update={"operator": pair.operator.model_copy(update={"scatter": 0.0})})
    )
    hands, cycle = MeasuringTools(door, Random(7)), door.truth(Side.LEFT)
    spans = []
    for _ in range(4000):
        marks = hands.marks(cycle)
        spans.append(marks[1] - marks[0] - cycle.opening_time_s)
    mean = sum(spans) / len(spans)
    sd = (sum((span - mean) ** 2 for span in spans) / len(spans)) ** 0.5
    assert mean == pytest.approx(0.0, abs=0.006)
    assert sd == pytest.approx(0.07 * 2**0.5, rel=0.05)
