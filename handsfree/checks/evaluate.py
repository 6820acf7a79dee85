"""Compares readings with a limit set. Findings are values: a failing door raises no error."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from decimal import Decimal
from functools import lru_cache
from typing import Generic, TypeVar

from handsfree.checks.advice import change, measure_again
from handsfree.checks.applicable_limits import ApplicableLimit, UnknownLimit, applicable_limits
from handsfree.checks.leaf_energy import energy_findings
from handsfree.checks.limit_set import LimitSet
from handsfree.checks.measurement_uncertainty import (
    Rule,
    Uncertainty,
    decide,
    probability_within,
    uncertainty_of,
)
from handsfree.checks.number_format import figure, measured
from handsfree.checks.pass_caveats import looser, note_of, noted
from handsfree.checks.scope import SCOPE, out_of_scope
from handsfree.job.finding import Binding, Finding, Verdict
from handsfree.job.job import Job
from handsfree.job.opening import Activation
from handsfree.job.quantity import QUANTITIES, SWITCH_RANGE, Quantity
from handsfree.job.reading import Reading, Subject
from handsfree.job.unit import Family, convert
from handsfree.language.wording import Wording, wording

_Key = tuple[Quantity, Subject]
_T = TypeVar("_T")

# A number that was counted or agreed on has no measurement uncertainty.
_EXACT = (Family.COUNT, Family.SPAN)


class _Itself(Generic[_T]):
    """A cache key for a record: equal only to itself, which is quick to compare."""

    def __init__(self, record: _T) -> None:
        self.record = record

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Itself) and self.record is other.record

    def __hash__(self) -> int:
        return id(self.record)


def judge(
    job: Job, limits: LimitSet, rule: Rule = "guarded", only: Collection[_Key] | None = None
) -> tuple[Finding, ...]:
    """Every finding on the current readings of the job, in their order.

    ``only`` restricts them to these quantities of these subjects. A door that the limits do not
    cover gets a single finding that says so. The findings on the same job are cached: a
    conversation asks for them several times a turn.
    """
    keys = None if only is None else frozenset(only)
    return _judged(_Itself(job), _Itself(limits), rule, keys)


@lru_cache(maxsize=64)
def _judged(
    of_job: _Itself[Job], by_limits: _Itself[LimitSet], rule: Rule, only: frozenset[_Key] | None
) -> tuple[Finding, ...]:
    job, limits = of_job.record, by_limits.record
    if (why := out_of_scope(job.opening)) is not None:
        return (_outside(job, limits, why),) if only is None else ()
    of_readings = tuple(
        finding
        for key, readings in _measured(job).items()
        if only is None or key in only
        for finding in _judge(
            job, limits, tuple(r for r in readings if r.attempt == readings[-1].attempt), rule
        )
    )
    return (*of_readings, *_switch(job, limits)) if only is None else of_readings


def _switch(job: Job, limits: LimitSet) -> tuple[Finding, ...]:
    """The finding on the range of a touchless switch, which is a recommendation."""
    told, limit = job.opening.switch_range, limits.limit.switch_range
    if told is None or limit is None or job.opening.activation is not Activation.TOUCHLESS_SWITCH:
        return ()
    w = wording(job.sheet.language)
    most = convert(limit.value, limit.unit, told.unit)
    return (
        Finding(
            rule=SWITCH_RANGE.spoken,
            subject=Subject.OPENING,
            quantity=None,
            verdict=Verdict.PASS if told.value <= most else Verdict.FAIL,
            reading=told.value,
            limit=most,
            bound=limit.bound,
            unit=told.unit,
            source=f"{limits.name}; {limit.cite()}",
            why=w.say(
                "switch_range_should",
                range=measured(w, told.value, told.unit, most),
                bound=w.say("at_most"),
                limit=measured(w, most, told.unit),
            ),
            binding=limit.binding,
        ),
    )


def judge_reading(
    job: Job, limits: LimitSet, reading: Reading, rule: Rule = "guarded"
) -> tuple[Finding, ...]:
    """Findings on the quantity of a reading, from the runs of its last attempt."""
    runs = job.runs(reading.quantity, reading.subject)
    return _judge(job, limits, runs, rule) if runs else ()


def changed(
    before: Job, after: Job, limits: LimitSet, rule: Rule = "guarded"
) -> tuple[Finding, ...]:
    """Findings on every quantity that is judged differently from ``before``.

    A corrected width, a moved plate or a withdrawn reading affects other quantities too: times that
    passed for a narrow leaf may fail for a wide one. A reading that describes nothing about the
    door affects only its own quantity.
    """
    then, since = _measured(before), _measured(after)
    moved = {key for key in then.keys() | since.keys() if then.get(key) != since.get(key)}
    same_door = before.opening == after.opening
    reaches_others = any(quantity is Quantity.PLATE_DISTANCE for quantity, _ in moved)
    # The total opening time is also judged by its part beyond the opening time.
    moved |= {
        (Quantity.TOTAL_OPENING_TIME, subject)
        for quantity, subject in moved
        if quantity is Quantity.OPENING_TIME
    }
    only = moved if same_door and not reaches_others else None
    was = _by_quantity(judge(before, limits, rule, only))
    now = _by_quantity(judge(after, limits, rule, only))
    return tuple(f for key, found in now.items() if found != was.get(key) for f in found)


def _measured(job: Job) -> dict[_Key, list[Reading]]:
    """The readings of each quantity and subject, in the order of their first reading."""
    measured: dict[_Key, list[Reading]] = {}
    for reading in job.readings:
        measured.setdefault((reading.quantity, reading.subject), []).append(reading)
    return measured


def _judge(
    job: Job, limits: LimitSet, runs: tuple[Reading, ...], rule: Rule
) -> tuple[Finding, ...]:
    """The findings on the runs of one attempt at one quantity."""
    last = runs[-1]
    doubt = uncertainty_of(runs, last.unit)
    w = wording(job.sheet.language)
    found = [
        _missing(w, held, runs, doubt, limits, rule)
        if isinstance(held, UnknownLimit)
        else _held(w, held, runs, doubt, limits, rule)
        for held in applicable_limits(job, limits, last.quantity, last.subject)
    ]
    return (*found, *energy_findings(job, limits, last, doubt, rule, of_time=found))


def _by_quantity(
    findings: Iterable[Finding],
) -> dict[tuple[Quantity | None, Subject], list[Finding]]:
    groups: dict[tuple[Quantity | None, Subject], list[Finding]] = {}
    for found in findings:
        groups.setdefault((found.quantity, found.subject), []).append(found)
    return groups


def _outside(job: Job, limits: LimitSet, why: str) -> Finding:
    return Finding(
        rule=SCOPE,
        subject=Subject.OPENING,
        quantity=None,
        verdict=Verdict.NOT_JUDGED,
        source=limits.name,
        why=wording(job.sheet.language).say(why),
    )


def _missing(
    w: Wording,
    held: UnknownLimit,
    runs: tuple[Reading, ...],
    doubt: Uncertainty,
    limits: LimitSet,
    rule: Rule,
) -> Finding:
    """The finding 'not judged', or a failure if the reading is below the limit of any leaf."""
    if held.least is not None:
        at_least = _held(w, held.least, runs, doubt, limits, rule)
        if at_least.verdict is Verdict.FAIL:
            return at_least
    return Finding(
        rule=held.rule,
        subject=runs[-1].subject,
        quantity=runs[-1].quantity,
        verdict=Verdict.NOT_JUDGED,
        reading=runs[-1].value,
        unit=runs[-1].unit,
        source=limits.name,
        why=held.why,
        reading_id=runs[-1].id,
    )


def _held(
    w: Wording,
    held: ApplicableLimit,
    runs: tuple[Reading, ...],
    doubt: Uncertainty,
    limits: LimitSet,
    rule: Rule,
) -> Finding:
    quantity, subject, unit = runs[-1].quantity, runs[-1].subject, doubt.unit
    facts = QUANTITIES[quantity]
    exact = facts.family in _EXACT
    limit = convert(held.value, held.unit, unit)
    # Decided in one unit for all: a band rounded in newtons differs from one rounded in pounds.
    same = doubt if unit is facts.unit else uncertainty_of(runs, facts.unit)
    strictness: Rule = "simple" if exact else rule
    verdict = decide(same, convert(held.value, held.unit, facts.unit), held.bound, strictness)
    unproven = ""
    if verdict is Verdict.FAIL and held.proven is not None:
        sure = convert(held.proven, held.unit, facts.unit)
        if decide(same, sure, held.bound, "simple") is not Verdict.FAIL:
            verdict = Verdict.NOT_JUDGED
            sure_words = figure(convert(held.proven, held.unit, unit))
            unproven = w.say("because_not_proven", sure=sure_words, limit=measured(w, limit, unit))
    advice = ""
    if verdict is Verdict.FAIL and exact:
        advice = w.say("make_it", limit=measured(w, limit, unit))
    elif verdict is Verdict.FAIL or unproven:
        advice = change(w, quantity, doubt, limit, held.bound, subject)
    elif verdict is Verdict.TOO_CLOSE:
        advice = measure_again(w, quantity, doubt, limit, held.bound, subject)
    value = doubt.value(held.bound)
    return Finding(
        rule=held.rule,
        subject=subject,
        quantity=quantity,
        verdict=verdict,
        reading=value,
        limit=limit,
        bound=held.bound,
        unit=unit,
        guard_band=Decimal(0) if exact else doubt.band(held.bound, rule),
        probability=None if exact else probability_within(doubt, limit, held.bound),
        source=f"{limits.name}; {held.cite}",
        why=w.say(
            "reading_must" if held.binding is Binding.REQUIREMENT else "reading_should",
            quantity=w.quantity(quantity),
            of_subject=w.of(subject),
            reading=measured(w, value, unit, limit),
            bound=w.say(held.bound.replace(" ", "_")),
            limit=measured(w, limit, unit),
            because=(f" {held.because}" if held.because else "") + unproven,
        ),
        advice=advice,
        note=noted(note_of(w, doubt, limit, held.bound, verdict), looser(w, held.looser_than)),
        runs=len(runs),
        reading_id=runs[-1].id,
        binding=held.binding,
    )
