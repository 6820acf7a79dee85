"""The readings that stand are those of the job, however they were withdrawn, struck and amended."""

from __future__ import annotations

from decimal import Decimal

from hypothesis import given
from hypothesis import strategies as st

from handsfree.job.finding import Finding, Verdict
from handsfree.job.job import Fact, Job
from handsfree.job.quantity import Quantity
from handsfree.job.reading import Reading, Subject, Taken
from handsfree.job.unit import Measure, Unit
from handsfree.journal import events as ev
from handsfree.journal import office_events as office
from handsfree.journal.job_fold import fold_job
from handsfree.reports.current_findings import InForce
from handsfree.reports.review_priority import attempt_of, relative_doubt

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


@given(histories())
def test_it_is_the_job_of_the_journal(bodies):
    job: Job | None = Job.open(SHEET)
    in_force = InForce()
    for body in bodies:
        job = fold_job(job, body)
        in_force.take(body)
        assert in_force.job(SHEET) == job
    for key in in_force.measured():
        subject, quantity = key
        mine = in_force.of(key)
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


def after(*bodies: ev.Body) -> InForce:
    in_force = InForce()
    for body in bodies:
        in_force.take(body)
    return in_force


def accepted(*readings: Reading) -> list[ev.Body]:
    return [ev.ReadingAccepted(reading=each) for each in readings]


def test_the_last_run_that_was_judged_speaks_for_its_attempt():
    one, two = finding("r1", Verdict.TOO_CLOSE), finding("r2")
    in_force = after(
        *accepted(reading("r1")),
        ev.Judged(findings=(one,)),
        *accepted(reading("r2")),
        ev.Judged(findings=(two,)),
    )
    assert in_force.on_reading == {"r2": (two,)}
    assert in_force.on_last_attempt(KEY) == (two,)


def test_judging_what_was_found_leaves_what_was_left():
    left = finding("r2")
    found = finding("r1", Verdict.FAIL)
    in_force = after(
        *accepted(reading("r1"), reading("r2", attempt=2)),
        ev.Judged(findings=(left,)),
        ev.Judged(findings=(found,)),
    )
    assert in_force.on_last_attempt(KEY) == (left,)
    assert in_force.on_reading == {"r1": (found,), "r2": (left,)}


def test_findings_on_what_is_gone_are_not_in_force():
    in_force = after(
        *accepted(reading("r1"), reading("r2")),
        ev.Judged(findings=(finding("r2"),)),
        ev.ReadingWithdrawn(reading_id="r2"),
    )
    assert in_force.on_last_attempt(KEY) == ()


# --- the order of doubt


def doubt(value: object, *findings: Finding, runs=(), again: int = 0, superseded=False) -> float:
    now = reading("r1", value)
    together = attempt_of((*runs, now))
    return relative_doubt(now, findings, together, again, superseded=superseded).score


def near(distance: str) -> Finding:
    limit = Decimal("3.5")
    more = {"reading": limit + Decimal(distance), "limit": limit, "unit": "s"}
    return finding("r1", guard_band=Decimal("0.2"), **more)


@given(st.decimals("0", "5", places=2), st.decimals("0", "5", places=2))
def test_nearer_to_the_limit_is_never_doubted_less(one, other):
    closer, farther = sorted((one, other))
    assert doubt("4", near(str(closer))) >= doubt("4", near(str(farther)))


@given(st.integers(0, 9), st.integers(0, 9))
def test_what_was_hard_to_hear_is_doubted_more_and_never_wholly(one, other):
    less, more = sorted((one, other))
    assert 0 <= doubt("4", again=less) <= doubt("4", again=more) < 1


def test_a_run_apart_from_its_others_a_seldom_value_and_a_wrong_unit_raise_the_doubt():
    assert doubt("4") == 0
    assert doubt("6", runs=(reading("r2", "4"), reading("r3", "4.1"))) > 0
    assert doubt("4.05", runs=(reading("r2", "4"), reading("r3", "4.1"))) == 0
    assert doubt("19.9") > 0
    assert doubt("4", near("0.1"), superseded=True) < doubt("4", near("0.1"))
    pounds = reading("r1").model_copy(update={"unit": Unit.POUND})
    assert relative_doubt(pounds, (), attempt_of((pounds,)), 0).score == 1
