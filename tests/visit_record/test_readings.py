"""The valid readings equal the job's, however they were withdrawn, struck and amended."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from handsfree.job.finding import Finding, Verdict
from handsfree.job.job import Fact, Job
from handsfree.job.quantity import Quantity
from handsfree.job.reading import Reading, Subject, Taken
from handsfree.job.unit import Measure, Unit
from handsfree.journal import events as ev
from handsfree.journal import office_events as office
from handsfree.visit_record.progress import fold_job
from handsfree.visit_record.readings import Readings
from handsfree.visit_record.visit_record import VisitFold

from ..journal.examples import OPENED
from ..talk import SHEET

IDS = [f"r{nth}" for nth in range(1, 7)]
UNITS = {Quantity.OPENING_TIME: Unit.SECOND, Quantity.LEAF_WIDTH: Unit.INCH}


def reading(
    reading_id: str, value: object = "4.2", attempt: int = 1, quantity=Quantity.OPENING_TIME
) -> Reading:
    return Reading(
        id=reading_id,
        quantity=quantity,
        subject=Subject.LEFT_LEAF,
        value=Decimal(str(value)),
        unit=UNITS[quantity],
        taken=Taken.SAID,
        attempt=attempt,
    )


@st.composite
def histories(draw) -> list[ev.Body]:
    """Every reading is accepted at most once, and anything may happen to it at any time."""
    bodies: list[ev.Body] = []
    fresh = list(IDS)
    for kind in draw(st.lists(st.sampled_from("aaawsmfo"), max_size=14)):
        one = draw(st.sampled_from(IDS))
        value = Measure(value=Decimal(draw(st.integers(20, 50))), unit=Unit.INCH)
        match kind:
            case "a" if fresh:
                quantity = draw(st.sampled_from([*UNITS]))
                attempt = draw(st.integers(1, 3))
                made = reading(fresh.pop(0), value.value, attempt, quantity)
                bodies.append(ev.ReadingAccepted(reading=made))
            case "w":
                bodies.append(ev.ReadingWithdrawn(reading_id=one))
            case "s":
                bodies.append(office.ReadingStruck(reading_id=one, by="A", why="b"))
            case "m":
                amended = {"reading_id": one, "old": value, "new": value}
                bodies.append(office.ReadingAmended(**amended, by="A", why="b"))
            case "f" | "o":
                hand = draw(st.sampled_from(["left", "right"]))
                subject = draw(st.sampled_from([Subject.MOTOR_ONE, Subject.MOTOR_TWO]))
                if kind == "f":
                    fact = Fact(subject=subject, name="hand", value=hand)
                    bodies.append(ev.FactAccepted(fact=fact))
                else:
                    told = {"subject": subject, "name": "hand", "old": "", "new": hand}
                    bodies.append(office.FactAmended(**told, by="A", why="b"))
    return bodies


def following(bodies: list[ev.Body]) -> Iterator[tuple[ev.Body, VisitFold]]:
    """The fold after each of these events of an opened visit."""
    fold = VisitFold()
    for seq, body in enumerate((OPENED.model_copy(update={"sheet": SHEET}), *bodies), 1):
        fold.apply(ev.Event(seq=seq, at="2100-01-01T00:00:00.000Z", body=body, prev="0" * 64))
        yield body, fold


@pytest.mark.slow
@given(histories())
def test_the_job_is_the_one_that_the_conversation_keeps(bodies):
    job: Job | None = None
    for body, fold in following(bodies):
        job = fold_job(job, body)
        assert fold.record().job == job
    for key in fold.readings.measured():
        subject, quantity = key
        mine = fold.readings.of(key)
        assert job.runs(quantity, subject) == tuple(
            r for r in mine if r.attempt == mine[-1].attempt
        )


def finding(reading_id: str, verdict: Verdict = Verdict.PASS, **more) -> Finding:
    made = {
        "rule": "opening time",
        "subject": Subject.LEFT_LEAF,
        "quantity": Quantity.OPENING_TIME,
        "verdict": verdict,
        "reading_id": reading_id,
    }
    return Finding(**made | more)


KEY = (Subject.LEFT_LEAF, Quantity.OPENING_TIME)


def after(*bodies: ev.Body) -> Readings:
    *_, (_, fold) = following(list(bodies))
    return fold.readings


def accepted(*readings: Reading) -> list[ev.Body]:
    return [ev.ReadingAccepted(reading=each) for each in readings]


def test_the_last_run_that_was_judged_speaks_for_its_attempt():
    one, two = finding("r1", Verdict.TOO_CLOSE), finding("r2")
    readings = after(
        *accepted(reading("r1")),
        ev.Judged(findings=(one,)),
        *accepted(reading("r2")),
        ev.Judged(findings=(two,)),
    )
    assert readings.findings == {"r2": (two,)}
    assert readings.as_left(KEY) == (two,)


def test_judging_what_was_found_leaves_what_was_left():
    left = finding("r2")
    found = finding("r1", Verdict.FAIL)
    readings = after(
        *accepted(reading("r1"), reading("r2", attempt=2)),
        ev.Judged(findings=(left,)),
        ev.Judged(findings=(found,)),
    )
    assert readings.as_left(KEY) == (left,)
    assert readings.findings == {"r1": (found,), "r2": (left,)}


def test_findings_on_what_is_gone_are_not_in_force():
    readings = after(
        *accepted(reading("r1"), reading("r2")),
        ev.Judged(findings=(finding("r2"),)),
        ev.ReadingWithdrawn(reading_id="r2"),
    )
    assert readings.as_left(KEY) == ()
