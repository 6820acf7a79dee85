"""A serial number or a date that was spoken, read back."""

from __future__ import annotations

from handsfree.dialogue.questions.visit_fact_check import VisitFactCheckQuestion
from handsfree.job.reading import Subject
from handsfree.journal.paper_events import VisitFactKept

from ...talk import Talk

QUESTION = VisitFactCheckQuestion


def ask(talk: Talk) -> None:
    talk.says("operator serial alpha seven four two")


def test_it_is_spelled_back_and_kept_when_affirmed(talk):
    (readback,) = talk.says("left operator serial alpha seven four two")
    assert readback == (
        "Serial number of the operator, left leaf: alpha seven four two. Yes or no?"
    )
    assert talk.of(VisitFactKept) == []
    said = talk.says("affirm")
    assert said[0] == "Noted: serial number of the operator, left leaf, alpha seven four two."
    at = talk.state.progress.at
    assert talk.of(VisitFactKept) == [
        VisitFactKept(subject=Subject.LEFT_LEAF, name="operator_serial", value="A742", step_key=at)
    ]


def test_negative_drops_it(talk):
    ask(talk)
    assert talk.says("negative")[0] == "Dropped."
    assert talk.of(VisitFactKept) == [] and talk.state.pending is None


def test_a_date_is_read_back_by_its_month(talk):
    (readback,) = talk.says("gauge calibrated march twenty twenty six")
    assert readback == "Force gauge calibrated: March two zero two six. Yes or no?"
    talk.says("yes")
    assert talk.of(VisitFactKept)[0].value == "2026-03"
