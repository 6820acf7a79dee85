"""The set-up of a controller as a page to print."""

from __future__ import annotations

import io

import pypdf
import pytest

from handsfree.controllers.guide_loader import load_guide
from handsfree.job.job import Job, Sheet
from handsfree.job.opening import Lock, Swing
from handsfree.reports.set_up_sheet import set_up_pdf, set_up_png, sheet_data
from tests.dialogue.technician import opening

GUIDE = load_guide("heron")


def door(lock: Lock) -> Job:
    fitted = opening(Swing.SAME_WAY, everything=False).model_copy(update={"lock": lock})
    return Job.open(Sheet(reference="T-7", site="a test", technician="nobody", opening=fitted))


@pytest.mark.parametrize(
    ("lock", "said"),
    [
        (Lock.NONE, "Nothing holds the door shut"),
        (Lock.MAGNETIC_LOCK, "Something holds the door shut"),
        (Lock.STRIKE, "The door has a strike"),
        (Lock.STRIKE_FAIL_SAFE, "The door has a strike"),
        (Lock.STRIKE_FAIL_SECURE, "The door has a strike"),
    ],
)
def test_the_sheet_says_what_holds_the_door_shut(lock: Lock, said: str) -> None:
    assert said in sheet_data(GUIDE, door(lock))["door"]


@pytest.mark.slow
def test_the_printed_page_holds_the_data() -> None:
    text = pypdf.PdfReader(io.BytesIO(set_up_pdf(GUIDE, door(Lock.STRIKE)))).pages[0].extract_text()
    assert "T-7" in text and "The door has a strike" in text
    assert set_up_png(GUIDE, door(Lock.STRIKE), 40).startswith(b"\x89PNG")
