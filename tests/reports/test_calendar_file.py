"""The next service in a calendar, read back by the package icalendar (RFC 5545; seen)."""

from __future__ import annotations

from datetime import date, timedelta

import icalendar
import pytest
from click.testing import CliRunner
from hypothesis import given, settings
from hypothesis import strategies as st

from handsfree.cli import main
from handsfree.errors import JournalError
from handsfree.reports.calendar_file import calendar_file
from handsfree.visit_record.load import load_record
from handsfree.visit_record.visit_record import VisitRecord

from ..ledger.visits import small_visit


def test_it_is_one_whole_day_in_a_year_with_a_reminder(tmp_path):
    record = load_record(small_visit(tmp_path / "a"))
    content = calendar_file(record)
    assert content == calendar_file(record) and content.endswith(b"\r\n")
    assert all(len(line) <= 75 for line in content.split(b"\r\n"))  # RFC 5545, 3.1
    read = icalendar.Calendar.from_ical(content)
    assert read["VERSION"] == "2.0" and "handsfree" in read["PRODID"]
    (event,) = read.events
    assert not event.errors and not read.errors
    assert event.decoded("dtstart") == date(2101, 3, 4)
    assert event.decoded("dtend") - event.decoded("dtstart") == timedelta(days=1)
    assert event["summary"] == "Service of the door: main entrance, Harbour Hall"
    assert event["location"] == "Harbour Hall" and event["uid"].endswith("@handsfree")
    assert "March 4, 2100, by R. Almeda" in event["description"]
    (alarm,) = event.alarms.times
    assert alarm.trigger == date(2101, 2, 18)


def test_two_doors_are_two_events_and_one_door_keeps_its_own(tmp_path):
    def uid(folder: str, **what: str) -> str:
        record = load_record(small_visit(tmp_path / folder, **what))
        (event,) = icalendar.Calendar.from_ical(calendar_file(record)).events
        return str(event["uid"])

    assert uid("a") == uid("b") != uid("c", name="side door")


@pytest.fixture(scope="module")
def plain(tmp_path_factory) -> VisitRecord:
    return load_record(small_visit(tmp_path_factory.mktemp("plain") / "a"))


@pytest.mark.slow
@settings(max_examples=30)
@given(name=st.text(st.characters(codec="utf-8"), max_size=60))
def test_any_name_is_read_back(plain, name):
    sheet = plain.sheet.model_copy(update={"site": name})
    record = plain.model_copy(update={"opened": plain.opened.model_copy(update={"sheet": sheet})})
    (event,) = icalendar.Calendar.from_ical(calendar_file(record)).events
    shown = "".join(letter if letter.isprintable() else " " for letter in name)
    assert str(event["location"]).split() == shown.split()


def test_a_visit_that_is_not_finished_sets_no_day(tmp_path):
    folder = small_visit(tmp_path / "a", closed=False)
    with pytest.raises(JournalError, match="sets no next service"):
        calendar_file(load_record(folder))
    run = CliRunner().invoke(main, ["export", str(folder), "--calendar"])
    assert run.exit_code == 2 and "resume" in run.stderr


def test_the_command_prints_it_or_writes_it(tmp_path):
    folder, out = small_visit(tmp_path / "a"), tmp_path / "next.ics"
    run = CliRunner().invoke(main, ["export", str(folder), "--calendar"])
    assert run.exit_code == 0 and run.output.startswith("BEGIN:VCALENDAR")
    run = CliRunner().invoke(main, ["export", str(folder), "--calendar", "--out", str(out)])
    assert run.exit_code == 0 and out.read_bytes() == calendar_file(load_record(folder))
