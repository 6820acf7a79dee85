from __future__ import annotations

from datetime import UTC, datetime

import pytest

from handsfree.checks.limits import load_limits
from handsfree.errors import JournalError
from handsfree.journal import events as ev
from handsfree.journal.canonical_json import stamp
from handsfree.procedure.loader import parse_procedure
from handsfree.reports.summary import summarize
from handsfree.reports.summary_text import summary_text
from handsfree.visit.resume import opening_event

from ..talk import PROCEDURE, SHEET


def journal(talk) -> list[ev.Event]:
    """The events of a conversation, as the shell would keep them."""
    procedure = parse_procedure(PROCEDURE, "small.toml", "0" * 64)
    first = opening_event(
        SHEET, procedure, load_limits("a156.19"), model="none", ears="typed", mouth="silent"
    )
    at = stamp(datetime(2100, 1, 1, tzinfo=UTC))
    bodies = [first, *talk.kept]
    return [
        ev.Event(seq=seq, at=at, body=body, prev="0" * 64) for seq, body in enumerate(bodies, 1)
    ]


@pytest.fixture
def measured(talk):
    """As found 2.5 s, which fails; as left 4.5 s, which passes."""
    talk.go_to("opening-time:left leaf")
    talk.says("two point five", "affirm", "four point five", "affirm")
    return talk


def test_as_found_and_as_left_stand_side_by_side_with_the_last_verdict(measured):
    summary = summarize(journal(measured))
    (line,) = summary.lines
    assert (str(line.as_found[0]), str(line.as_left[0]), line.attempts) == ("2.5", "4.5", 2)
    assert {str(finding.verdict) for finding in line.findings} == {"pass"}
    assert summary.not_in_order == ()
    assert "2.5 -> 4.5 s  pass" in summary_text(summary)


def test_what_was_left_failing_is_the_verdict(talk):
    talk.go_to("opening-time:left leaf")
    for _ in range(3):
        talk.says("two point five", "affirm")
    summary = summarize(journal(talk))
    assert not summary.complete
    assert summary.verdict.startswith("The visit is not finished. Not OK: left leaf")
    assert "must be at least 3.5 seconds" in summary_text(summary)


def test_a_recommendation_that_is_not_kept_is_listed_and_is_no_defect(talk):
    talk.go_to("opening-time:left leaf")
    talk.says("left plate height fifty inches", "affirm")
    summary = summarize(journal(talk))
    assert summary.not_as_recommended == ("left plate: plate height",)
    assert summary.not_in_order == ()
    text = summary_text(summary)
    assert "not as recommended" in text and "Not OK" not in text


def test_a_size_that_is_corrected_brings_its_readings_up_to_date(talk):
    talk.go_to("opening-time:left leaf")
    talk.says("three point nine", "affirm", "left leaf weight two hundred pounds", "affirm")
    assert summarize(journal(talk)).not_in_order == ("left leaf: opening time",)


def test_defects_skips_cautions_notes_and_withdrawals_are_named(talk):
    talk.go_to("swings-free:left leaf")
    talk.says("not in order", "affirm", "the pivot grinds", "in order", "affirm")
    talk.go_to("opening-time:left leaf")
    talk.says("four point five", "affirm", "withdraw that", "affirm", "skip", "no stopwatch here")
    summary = summarize(journal(talk))
    assert summary.not_in_order == ("left leaf: swings freely",)
    assert summary.notes == ("the pivot grinds",)
    assert summary.withdrawn == 1 and summary.lines == ()
    assert ("opening-time:left leaf", "no stopwatch here") in [
        (skipped.key, skipped.reason) for skipped in summary.skipped
    ]
    assert summary.cautions[0].endswith("Answered: clear.")


def test_the_safety_note_stands_under_every_summary(measured):
    text = summary_text(summarize(journal(measured)))
    assert "does not make a door safe" in text.replace("\n", " ")


def test_an_empty_journal_has_no_summary():
    with pytest.raises(JournalError, match="no opened visit"):
        summarize([])
