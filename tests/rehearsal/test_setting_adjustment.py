"""Settings are changed by the tool's advice, with the right result."""

from __future__ import annotations

import pytest

from handsfree.job.opening import Side
from handsfree.job.quantity import Quantity
from handsfree.job.reading import Subject
from handsfree.rehearsal.door import Door
from handsfree.rehearsal.setting_adjustment import ReadingHistory, adjust

LEFT = Subject.LEFT_LEAF


def test_a_share_of_the_speed_is_a_share_of_the_setting(pair):
    door = Door(pair)
    door.set(Side.LEFT, "opening_speed", 15)
    memory = ReadingHistory()
    memory.note(Quantity.OPENING_TIME, LEFT, 15, 3.6)
    turned = adjust(door, Quantity.OPENING_TIME, LEFT, {"aim": "4.5 seconds"}, memory)
    assert turned == ("opening_speed", 15, 12)


def test_the_second_time_two_settings_tell_the_line(pair):
    """Speed = 0.02 + 0.018 a step: 15 takes 3.45 s, 12 takes 4.24 s; 4.7 s is at 10.7."""
    door, memory = Door(pair), ReadingHistory()
    for setting in (15, 12):
        memory.note(Quantity.OPENING_TIME, LEFT, setting, 1 / (0.02 + 0.018 * setting))
    door.set(Side.LEFT, "opening_speed", 12)
    turned = adjust(door, Quantity.OPENING_TIME, LEFT, {"aim": "4.7 seconds"}, memory)
    assert turned == ("opening_speed", 12, 10)


def test_it_is_always_turned_at_least_a_step(pair):
    memory = ReadingHistory()
    memory.note(Quantity.CLOSING_TIME, LEFT, 9, 4.0)
    turned = adjust(Door(pair), Quantity.CLOSING_TIME, LEFT, {"aim": "4.0 seconds"}, memory)
    assert turned == ("closing_speed", 9, 8)


def test_seconds_that_are_missing_are_put_on_top(pair):
    door, memory = Door(pair), ReadingHistory()
    door.set(Side.LEFT, "hold_open_setting", 3)
    memory.note(Quantity.HOLD_OPEN_TIME, LEFT, 3, 3.9)
    turned = adjust(door, Quantity.HOLD_OPEN_TIME, LEFT, {"aim": "6 seconds"}, memory)
    assert turned == ("hold_open_setting", 3, 6)
    assert door.truth(Side.LEFT).hold_open_time_s > 5.8


def test_only_the_end_of_the_opening_is_slowed_for_the_whole(pair):
    door, memory = Door(pair), ReadingHistory()
    memory.note(Quantity.OPENING_TIME, LEFT, 9, 4.6)
    memory.note(Quantity.TOTAL_OPENING_TIME, LEFT, 8, 6.6)
    advice = {"aim": "7.1 seconds"}
    turned = adjust(door, Quantity.TOTAL_OPENING_TIME, LEFT, advice, memory)
    assert turned == ("backcheck_speed", 8, 6)


def test_a_force_goes_down_and_a_backcheck_begins_later(pair):
    door = Door(pair)
    memory = ReadingHistory()
    memory.note(Quantity.OPENING_FORCE, LEFT, 5, 17.0)
    force = adjust(door, Quantity.OPENING_FORCE, LEFT, {"aim": "14 pounds force"}, memory)
    assert force is not None and force[2] < force[1]
    later = adjust(door, Quantity.BACKCHECK_ANGLE, LEFT, {}, ReadingHistory())
    assert later == ("backcheck_angle", 75, 80)


@pytest.mark.parametrize("quantity", [Quantity.RELEASE_FORCE, Quantity.LEAF_WIDTH])
def test_where_nothing_can_be_turned_nothing_is(pair, quantity):
    assert adjust(Door(pair), quantity, LEFT, {}, ReadingHistory()) is None
