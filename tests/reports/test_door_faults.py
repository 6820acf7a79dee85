"""Faults in a visit's outputs: each with its history, and none under a passing headline."""

from __future__ import annotations

import io

import pytest
from pypdf import PdfReader

from handsfree.job.opening import Swing
from handsfree.journal import events as ev
from handsfree.journal.fault_events import FaultFound, FaultProved, FaultWorked
from handsfree.journal.reader import Verification
from handsfree.language.interpreter import Language
from handsfree.procedure.loader import load_procedure
from handsfree.reports.embedded_sound import NoSound
from handsfree.reports.export import export_json
from handsfree.reports.record_data import record_data
from handsfree.reports.record_pdf import record_pdf
from handsfree.reports.report_html import report_html
from handsfree.reports.report_page import heading_of
from handsfree.reports.summary import summary_of
from handsfree.reports.summary_text import summary_text
from handsfree.visit_record.visit_record import VisitRecord, record_of
from tests.dialogue.technician import answer_to, opening, walk

WHOLE = Verification(whole=True, lines=1, clips=0, recovered=0, head="0" * 64)
KEY = "left leaf/arm_loose"
FOUND = FaultFound(subject="left leaf", name="arm_loose")
CURED = (
    FaultWorked(key=KEY, work="replaced", part="arm"),
    FaultProved(key=KEY, by="looked", what="Is that gone?"),
)


@pytest.fixture(scope="module")
def journal() -> list[ev.Body]:
    """A daily walk at a door without faults."""
    walked = walk(
        Language.load(),
        load_procedure("daily-check"),
        opening(Swing.SINGLE, False),
        lambda state: answer_to(state, "slams"),
    )
    return walked.journal


def record_with(journal: list[ev.Body], *bodies: ev.Body) -> VisitRecord:
    told = [*journal[:-1], *bodies, journal[-1]]
    at = "2100-01-01T00:00:00.000Z"
    return record_of(
        (ev.Event(seq=n, at=at, body=body, prev="0" * 64) for n, body in enumerate(told, 1)), WHOLE
    )


def test_no_headline_is_green_over_an_open_fault(journal):
    assert heading_of(record_with(journal)).kind == "pass"
    for left in ((), (ev.OpenSettled(key=KEY, word="accepted", by="the desk"),)):
        open_one = record_with(journal, FOUND, *left)
        assert heading_of(open_one).kind == "fail"
        assert record_data(open_one)["kind"] == "fail"
        assert "left leaf: arm loose" in summary_of(open_one).verdict
        assert [item.key for item in open_one.open_items] == [KEY]


def test_a_cured_fault_stands_in_everything_that_leaves_the_visit(journal):
    record = record_with(journal, FOUND, *CURED)
    assert heading_of(record).kind == "pass"
    pdf = PdfReader(io.BytesIO(record_pdf(record)))
    text = " ".join(" ".join(page.extract_text() for page in pdf.pages).split())
    for shown in (
        text,
        " ".join(summary_text(summary_of(record)).split()),
        report_html(record, NoSound()),
        export_json(record),
    ):
        assert "arm loose" in shown or "arm_loose" in shown
        assert "replaced" in shown.lower()
    assert "checked again: gone" in text


def test_the_first_finding_is_not_wiped_by_a_later_answer(journal):
    fact = next(b.fact for b in journal if isinstance(b, ev.FactAccepted))
    wrong = fact.model_copy(update={"value": "not_in_order"})
    record = record_with(
        journal,
        ev.FactAccepted(fact=wrong),
        ev.FactAccepted(fact=fact),
        FaultWorked(key=f"{fact.subject}/{fact.name}", work="adjusted"),
    )
    assert heading_of(record).kind == "pass"
    assert "seen not OK" in summary_text(summary_of(record))
