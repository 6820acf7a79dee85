"""A door whose limits are unknown never passes."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from handsfree.checks.evaluate import judge
from handsfree.checks.headline import headline, tally
from handsfree.checks.limits import load_limits
from handsfree.job.finding import Verdict, ruling
from handsfree.job.job import Job, Sheet
from handsfree.job.opening import Activation, Leaf, Opening, Operator, Side, Swing
from handsfree.job.quantity import QUANTITIES, Quantity
from handsfree.job.reading import Reading, Subject, Taken
from handsfree.job.unit import Measure, Unit
from handsfree.language.wording import languages, wording

LIMITS = load_limits("a156.19")
# 'When it is safe, say carry on.' 'No estoy seguro.'
NOT_OF_THE_DOOR = {"stopped", "doubtful"}
TIMES = (Quantity.OPENING_TIME, Quantity.CLOSING_TIME)


def a_size(low: int, high: int, unit: Unit) -> st.SearchStrategy[Measure | None]:
    return st.none() | st.integers(low, high).map(lambda value: Measure(value=value, unit=unit))


@st.composite
def doors(draw: st.DrawFn) -> tuple[Job, bool]:
    """A single door with good times, and whether all that its limits need is known."""
    width = draw(a_size(30, 48, Unit.INCH))
    weight = draw(a_size(100, 200, Unit.POUND))
    activation = draw(st.sampled_from(Activation))
    operator = draw(st.sampled_from(Operator))
    known = width is not None and weight is not None
    known = known and activation is not Activation.MOTION_SENSOR
    known = known and operator is Operator.LOW_ENERGY
    opening = Opening(
        name="door",
        seen_from="here",
        swing=Swing.SINGLE,
        leaves=(Leaf(name=Side.LEFT, width=width, weight=weight, backcheck_angle_deg=80),),
        motors=(),
        activation=activation,
        operator=operator,
    )
    job = Job.open(Sheet(reference="T", site="", technician="", opening=opening))
    for nth, quantity in enumerate(TIMES, 1):
        value = draw(st.decimals("6.5", "12", places=1))
        job = job.with_reading(
            Reading(id=f"r{nth}", quantity=quantity, subject=Subject.LEFT_LEAF, value=value,
                    unit=QUANTITIES[quantity].unit, taken=Taken.STOPWATCH)
        )  # fmt: skip
    return job, known


@pytest.mark.slow
@given(doors())
def test_without_its_limits_no_door_passes(door):
    """Times of 6.5 s and more pass on every leaf of Table I, and on none whose limits are open."""
    job, known = door
    findings = judge(job, LIMITS)
    assert (ruling(findings) is Verdict.PASS) is known
    for code in languages():
        line = headline(wording(code), tally(findings, lambda found: found.rule))
        assert ("not checked" in line or "sin comprobar" in line or "Nothing" in line
                or "not judged" in line.lower() or known or "1 of 1" not in line)  # fmt: skip


@pytest.mark.slow
@given(doors())
def test_every_finding_on_a_time_without_limits_says_why(door):
    job, known = door
    open_ones = [each for each in judge(job, LIMITS) if each.verdict is Verdict.NOT_JUDGED]
    assert bool(open_ones) is not known
    assert all(each.why for each in open_ones)
    assert all(each.limit is None or each.reading is None for each in open_ones) or known


def test_no_sentence_of_the_tool_calls_a_door_safe():
    """'It is safe' is a word of the technician; the tool says what was measured."""
    for code in languages():
        for name, said in wording(code).sentences.items():
            for form in said if isinstance(said, list) else [said]:
                words = set(form.lower().replace(",", " ").replace(".", " ").split())
                safe = words & {"safe", "segura", "seguro"}
                assert not safe or name in NOT_OF_THE_DOOR, (code, name, form)
