"""One pass builds the record, which can be read at any point; live and later results agree."""

from __future__ import annotations

from typing import get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st

from handsfree.errors import JournalError
from handsfree.journal import events as ev
from handsfree.visit_record.progress import Course, advance, changes_progress
from handsfree.visit_record.visit_record import VisitFold, VisitRecord, record_of

from ..journal.examples import OPENED
from ..journal.test_canonical_json import EXAMPLES
from .test_readings import histories

KINDS = get_args(get_args(ev.Body)[0])


def events_of(bodies: list[ev.Body]) -> list[ev.Event]:
    return [
        ev.Event(seq=seq, at=f"2100-01-01T00:00:{seq % 60:02}.000Z", body=body, prev=f"{seq:064}")
        for seq, body in enumerate((OPENED, *bodies), 1)
    ]


@st.composite
def journals(draw: st.DrawFn) -> list[ev.Event]:
    """Any events in any order after the opening, with readings that come and go among them."""
    bodies = draw(st.lists(st.sampled_from(EXAMPLES), max_size=25))
    for body in draw(histories()):
        bodies.insert(draw(st.integers(0, len(bodies))), body)
    return events_of(bodies)


def follow(fold: VisitFold, events: list[ev.Event]) -> VisitRecord:
    for event in events:
        fold.apply(event)
    return fold.record()


@pytest.mark.slow
@given(journals(), st.data())
def test_a_beginning_and_then_the_rest_is_the_record_of_all(events, data):
    at = data.draw(st.integers(1, len(events)))
    fold = VisitFold()
    begun = follow(fold, events[:at])
    as_it_was = begun.model_dump_json()
    assert follow(fold, events[at:]) == record_of(events)
    assert begun == record_of(events[:at])
    assert begun.model_dump_json() == as_it_was  # what was taken on the way stays as it was


def test_the_examples_hold_every_kind_of_event():
    assert {type(body) for body in EXAMPLES} == set(KINDS)


@pytest.mark.parametrize("body", EXAMPLES, ids=lambda body: body.kind)
def test_an_event_that_only_reports_leaves_the_place_in_the_procedure(body):
    course = Course(at="a:left leaf", ended={"a:left leaf": "done"}, standing_by="stop")
    after = advance(course, body)
    if isinstance(body, ev.Judged):  # it finds a fault, and moves nothing
        assert [fault.key for fault in after.faults] == ["left leaf/opening time"]
        after = after.model_copy(update={"faults": ()})
    assert changes_progress(body) or after == course


def test_events_without_an_opened_visit_make_no_record():
    with pytest.raises(JournalError, match="no opened visit"):
        record_of(events_of([])[1:])
