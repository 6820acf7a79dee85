"""Jumps of the time of day and sleep of the machine are reported; an ordinary day is not."""

from handsfree.clock import FakeClock
from handsfree.visit.clock_monitor import ClockMonitor


def test_an_ordinary_day_is_nothing_to_tell_of() -> None:
    watch = ClockMonitor(FakeClock())
    assert [watch.look() for _ in range(3)] == [(), (), ()]


def test_a_clock_that_was_set_is_told_of_once_with_how_far() -> None:
    clock = FakeClock()
    watch = ClockMonitor(clock)
    clock.jumped_s = -3600
    (fault,) = watch.look()
    assert (fault.what, fault.detail) == (
        "clock_jumped",
        "the time of day was set back by 3600 s",
    )
    assert watch.look() == ()


def test_sleep_is_no_jump() -> None:
    clock = FakeClock()
    watch = ClockMonitor(clock)
    clock.asleep_s = 600
    (fault,) = watch.look()
    assert (fault.what, fault.detail) == ("machine_slept", "for 600 s")
