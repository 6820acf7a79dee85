"""Visit facts built from the journal: the last value counts, or each of them."""

from __future__ import annotations

from collections import Counter

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError

from handsfree.job.reading import LEAF_SUBJECTS, Subject
from handsfree.job.visit_fact import VISIT_FACTS
from handsfree.journal import events as ev
from handsfree.journal.paper_events import PhotoKept, VisitFactKept, VisitFactWithdrawn
from handsfree.visit_record.progress import Course, advance
from handsfree.visit_record.visit_facts import VisitFacts
from handsfree.visit_record.visit_record import record_of

from ..journal.examples import OPENED

VALUES = {"code": "A742", "words": "a spring", "date": "2026-03", "moment": ""}


def events(*bodies: ev.Body) -> list[ev.Event]:
    return [
        ev.Event(
            seq=n, at=f"2100-01-01T00:{n // 60:02d}:{n % 60:02d}.000Z", body=body, prev="0" * 64
        )
        for n, body in enumerate(bodies, 1)
    ]


def after(*bodies: ev.Body) -> VisitFacts:
    fold = VisitFacts()
    for event in events(*bodies):
        fold.apply(event)
    return fold


def kept(name: str, value: str = "", subject: Subject = Subject.OPENING) -> VisitFactKept:
    return VisitFactKept(name=name, value=value, subject=subject)


@st.composite
def bodies(draw: st.DrawFn) -> VisitFactKept | VisitFactWithdrawn:
    fact = VISIT_FACTS[draw(st.sampled_from(sorted(VISIT_FACTS)))]
    subjects = (Subject.OPENING, *(LEAF_SUBJECTS if fact.leaf else ()))
    subject = draw(st.sampled_from(subjects))
    if draw(st.booleans()):
        return VisitFactWithdrawn(name=fact.id, subject=subject)
    value = draw(st.sampled_from(fact.values or (VALUES[fact.takes],)))
    return VisitFactKept(name=fact.id, subject=subject, value=value)


@pytest.mark.slow
@given(st.lists(bodies(), max_size=30))
def test_the_fold_and_the_conversation_count_alike(told):
    """Against a plain reading of the rules: a list for each fact, the last one or all of it."""
    plain: dict[tuple[Subject, str], list[str]] = {}
    course = Course()
    for body in told:
        course = advance(course, body)
        mine = plain.setdefault((body.subject, body.name), [])
        if isinstance(body, VisitFactWithdrawn):
            del mine[-1:]
        elif VISIT_FACTS[body.name].many:
            mine.append(body.value)
        else:
            mine[:] = [body.value]
    stories = after(*told).stories
    assert Counter((s.subject, s.name, s.value) for s in stories) == Counter(
        (*key, value) for key, values in plain.items() for value in values
    )
    assert course.noted == {f"{s}/{n}": len(v) for (s, n), v in plain.items() if v}


def test_what_was_replaced_stays_in_the_story():
    (story,) = after(kept("gauge", "A1"), kept("gauge", "A2"), kept("gauge", "A3")).stories
    assert (story.value, story.earlier, story.seq) == ("A3", ("A1", "A2"), 3)


def test_they_stand_in_the_order_of_the_table():
    stories = after(
        kept("photo"), kept("arrival"), kept("parts_used", "b"), kept("parts_used", "a")
    )
    assert [(s.name, s.value) for s in stories.stories] == [
        ("arrival", ""),
        ("parts_used", "b"),
        ("parts_used", "a"),
        ("photo", ""),
    ]


def test_spoken_words_are_typed_up_from_their_own_utterance():
    heard = ev.Heard(text="??", meaning=None)
    fold = after(heard, kept("taken_over_by"), ev.TypedUp(heard=1, text="the desk"), heard)
    (story,) = fold.stories
    assert (story.value, story.typed_up) == ("", "the desk")


@pytest.mark.parametrize(
    "body",
    [
        {"kind": "visit_fact_kept", "name": "owner_pin", "value": "1"},
        {"kind": "visit_fact_kept", "name": "gauge", "value": "<script>"},
        {"kind": "visit_fact_kept", "name": "arrival", "value": "yesterday"},
        {"kind": "visit_fact_withdrawn", "name": "owner_pin"},
        {"kind": "photo_kept", "file": "../1.jpg"},
    ],
)
def test_a_journal_with_an_unknown_fact_is_refused(body):
    with pytest.raises(ValidationError):
        ev.BODY.validate_python(body)


def test_a_photo_taken_in_later_does_not_lengthen_the_visit():
    photo = PhotoKept(
        file="000003.jpg",
        sha256="1" * 64,
        size=1,
        width=2,
        height=3,
        source_sha256="2" * 64,
        called="plate.jpg",
        step_key="signs",
    )
    visit = record_of(events(OPENED, ev.VisitClosed(), photo))
    assert visit.ended == "2100-01-01T00:00:02.000Z"
    (shown,) = visit.photos
    assert (shown.file, shown.called, shown.step) == ("000003.jpg", "plate.jpg", "signs")
