from pathlib import Path

import pytest

from handsfree.errors import JournalError
from handsfree.job.quantity import Quantity
from handsfree.job.reading import Subject
from handsfree.journal.events import ReadingWithdrawn
from handsfree.journal.fold import fold_job, job_of
from handsfree.journal.reader import read
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


def test_events_without_an_opened_visit_are_no_job() -> None:
    with pytest.raises(JournalError, match="no opened visit"):
        job_of(())
