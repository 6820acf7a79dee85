"""Times of a visit in the zone of its place, compared with the zone database of Python."""

from __future__ import annotations

from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

import pytest

from handsfree.clock import zone_here
from handsfree.reports.next_service import next_service
from handsfree.reports.timeline import clock, day
from handsfree.reports.visit_time import local, local_day, zone_of
from handsfree.visit_record.load import load_record

from ..ledger.visits import small_visit

LATE = datetime(2100, 3, 5, 3, 40, tzinfo=UTC)


@pytest.fixture(scope="module")
def at_place(tmp_path_factory):
    record = load_record(small_visit(tmp_path_factory.mktemp("zone") / "a", began=LATE))

    def placed(zone: str):
        return record.model_copy(update={"opened": record.opened.model_copy(update={"zone": zone})})

    return placed


def test_a_late_visit_is_of_the_day_on_the_wall(at_place):
    record = at_place("-05:00 EST")
    wall = LATE.astimezone(ZoneInfo("America/New_York"))
    assert local(record, record.began) == wall
    assert local_day(record, record.began) == date(2100, 3, 4)
    assert day(record.began, zone_of(record)) == "March 4, 2100, 22:40 EST"
    assert clock(record.began, zone_of(record)) == "22:40:00"
    assert next_service(record) == date(2101, 3, 4)


@pytest.mark.parametrize("zone", ["", "EST", "-99:00 X", "+05:75", "05:00"])
def test_what_is_no_zone_is_utc(at_place, zone):
    record = at_place(zone)
    assert local_day(record, record.began) == date(2100, 3, 5)
    assert day(record.began, zone_of(record)) == "March 5, 2100, 03:40 UTC"


def test_a_zone_without_a_name_shows_its_offset(at_place):
    assert day(LATE.isoformat(), zone_of(at_place("+05:30"))) == "March 5, 2100, 09:10 UTC+05:30"
    assert local(at_place(""), "never") is None


def test_the_zone_of_this_machine_has_an_offset():
    here = zone_here(LATE)
    offset = LATE.astimezone().utcoffset()
    assert offset is not None
    minutes = round(offset.total_seconds() / 60)
    sign = "-" if minutes < 0 else "+"
    assert here.startswith(f"{sign}{abs(minutes) // 60:02}:{abs(minutes) % 60:02}")
