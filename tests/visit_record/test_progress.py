"""The job and the position in its procedure, built from events."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import pytest

from handsfree.errors import JournalError
from handsfree.job.quantity import Quantity
from handsfree.job.reading import Subject
from handsfree.job.unit import Measure, Unit
from handsfree.journal.events import ReadingWithdrawn
from handsfree.journal.office_events import FactAmended, ReadingAmended, ReadingStruck
from handsfree.journal.reader import read
from handsfree.visit_record.progress import fold_job, job_of
from tests.journal.examples import FACT, OPENED, READING


def test_the_job_is_what_the_events_add_up_to(folder: Path) -> None:
    job = job_of(read(folder))
    assert job.sheet == OPENED.sheet
    assert job.latest(Quantity.OPENING_TIME, Subject.LEFT_LEAF) == READING
    assert job.facts == (FACT,)
    assert job.opening.motors[0].hand == "left"


def test_a_withdrawn_reading_is_out_of_the_job(folder: Path) -> None:
    job = fold_job(job_of(read(folder)), ReadingWithdrawn(reading_id="r1"))
    assert job is not None
    assert job.readings == ()


def test_what_the_office_amends_is_in_the_job(folder: Path) -> None:
    job = job_of(read(folder))
    new = Measure(value=Decimal("6.3"), unit=Unit.SECOND)
    amended = fold_job(
        job,
        ReadingAmended(reading_id="r1", old=READING.measure, new=new, by="office", why="misheard"),
    )
    assert amended is not None
    (reading,) = amended.readings
    assert reading == READING.model_copy(update={"value": new.value})
    fact = FactAmended(
        subject=FACT.subject, name=FACT.name, old="left", new="right", by="office", why="misheard"
    )
    amended = fold_job(job, fact)
    assert amended is not None
    assert amended.opening.motors[0].hand == "right"
    struck = fold_job(job, ReadingStruck(reading_id="r1", by="office", why="no reading"))
    assert struck is not None
    assert struck.readings == ()


def test_events_without_an_opened_visit_are_no_job() -> None:
    with pytest.raises(JournalError, match="no opened visit"):
        job_of(())
