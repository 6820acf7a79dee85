"""What the last visit left for the next one."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from handsfree.errors import JobError, JournalError
from handsfree.job.job import Fact, Sheet
from handsfree.job.opening import Swing
from handsfree.job.quantity import Quantity
from handsfree.job.reading import Reading, Subject, Taken
from handsfree.job.unit import Unit
from handsfree.journal import events as ev
from handsfree.journal.writer import Journal
from handsfree.visit_record.last_visit import with_last_visit

from ..dialogue.technician import opening

AT = datetime(2025, 11, 30, 8, tzinfo=UTC)


def sheet(**more: object) -> Sheet:
    door = opening(Swing.SINGLE, everything=False)
    return Sheet(reference="B-1", site="a bench", technician="nobody", opening=door, **more)


def reading(nth: int, quantity: Quantity, value: str, unit: Unit) -> ev.ReadingAccepted:
    made = Reading(
        id=f"r{nth}", quantity=quantity, subject=Subject.LEFT_LEAF, value=value, unit=unit,
        taken=Taken.TYPED,
    )  # fmt: skip
    return ev.ReadingAccepted(reading=made)


@pytest.fixture
def folder(tmp_path):
    bodies = (
        ev.VisitOpened(
            sheet=sheet(), procedure="yearly-service", procedure_sha256="0", limits="a156.19",
            limits_sha256="0", model="none", version="0", ears="typed", mouth="none",
        ),
        reading(1, Quantity.LEAF_WIDTH, "36", Unit.INCH),
        reading(2, Quantity.LEAF_WIDTH, "34", Unit.INCH),
        reading(3, Quantity.OPENING_TIME, "6.5", Unit.SECOND),
        reading(4, Quantity.OPENING_SPEED, "5", Unit.STEP),
        ev.FactAccepted(fact=Fact(subject=Subject.OPENING, name="lock", value="latch")),
        ev.FactAccepted(fact=Fact(subject=Subject.LEFT_LEAF, name="arm", value="in_order")),
    )  # fmt: skip
    with Journal.create(tmp_path / "last") as journal:
        for body in bodies:
            journal.append(body, AT)
    return tmp_path / "last"


def test_it_leaves_the_latest_value_of_what_stays_and_its_choices(folder):
    known = with_last_visit(sheet(last_visit_folder=str(folder)))
    assert known.last_visit_folder == "" and known.last_visit is not None
    last = known.last_visit
    assert (last.reference, last.on) == ("B-1", "2025-11-30")
    assert [(r.quantity, str(r.value)) for r in last.readings] == [
        (Quantity.LEAF_WIDTH, "34"),
        (Quantity.OPENING_SPEED, "5"),
    ]
    assert [(f.name, f.value) for f in last.facts] == [("lock", "latch")]


def test_a_job_file_that_names_none_is_as_it_was():
    assert with_last_visit(sheet()) == sheet()


def test_the_visit_to_another_opening_is_refused(folder):
    other = sheet(last_visit_folder=str(folder))
    door = other.opening.model_copy(update={"name": "back door"})
    with pytest.raises(JobError, match="was to 'hall', and this one is to 'back door'"):
        with_last_visit(other.model_copy(update={"opening": door}))


def test_a_folder_without_a_visit_is_named(tmp_path):
    with pytest.raises(JournalError, match="empty"):
        with_last_visit(sheet(last_visit_folder=str(tmp_path / "empty")))
