"""The next job at a door, and the daily walk, which is not a service."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path

from handsfree.ledger import queries
from handsfree.ledger.database import open_ledger
from handsfree.ledger.load import add
from handsfree.reports.next_job import next_job
from handsfree.reports.next_service import DAILY, next_service
from handsfree.visit_record.load import load_record

from ..ledger.visits import BEGAN, small_visit


def service(root: Path) -> Path:
    return small_visit(root / "service", readings=(("opening_time", "4.0"), ("next_service", "6")))


def walk(root: Path) -> Path:
    later = BEGAN + timedelta(days=9)
    named = {"reference": "main entrance", "technician": "Dana Ruiz"}
    return small_visit(root / "walk", readings=(), began=later, procedure=DAILY, **named)


def test_the_next_job_has_the_door_and_the_day_of_the_next_service(tmp_path):
    visit = load_record(service(tmp_path))
    job = next_job(visit)
    assert job.opening.leaves == visit.opening.leaves
    assert (job.technician, job.procedure, job.reference) == ("R. Almeda", "", "main entrance")
    assert job.date == str(next_service(visit)) == "2100-09-04"


def test_a_visit_that_was_not_finished_leaves_the_day_open(tmp_path):
    assert next_job(load_record(small_visit(tmp_path / "a", closed=False))).date == ""


def test_a_daily_walk_is_no_service_and_its_walker_no_technician(tmp_path):
    visit = load_record(walk(tmp_path))
    assert next_service(visit) is None
    assert (next_job(visit).date, next_job(visit).technician) == ("", "")


def test_the_service_before_a_daily_walk_still_counts_in_the_ledger(tmp_path):
    done = service(tmp_path)
    walk(tmp_path)
    with open_ledger(f"sqlite:///{tmp_path / 'ledger.sqlite'}") as ledger:
        assert {each.came for each in add(ledger, [tmp_path])} == {"added"}
        (due,) = queries.due(ledger, date(2100, 9, 4), 0)
        assert (due.due, due.technician) == ("2100-09-04", "R. Almeda")
        assert queries.last_folder(ledger, "main entrance") == str(done.resolve())
