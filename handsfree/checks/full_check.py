"""The whole check of a job: findings, changes, differences between the leaves, reminders."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from decimal import Decimal

from handsfree.checks.applicable_limits import applicable_limits, travel_of
from handsfree.checks.as_found_as_left import Change, changes
from handsfree.checks.evaluate import judge
from handsfree.checks.fitted_settings import Fitted, fitted_settings
from handsfree.checks.headline import headline, tally
from handsfree.checks.leaf_weight import leaf_contradiction, weight_of
from handsfree.checks.least_travel_time import LeastTime
from handsfree.checks.limit_rows import looser_values
from handsfree.checks.limit_set import LimitSet, Reminder
from handsfree.checks.measurement_uncertainty import Rule
from handsfree.checks.number_format import figure
from handsfree.checks.pair_checks import asymmetry, judge_pair
from handsfree.checks.pass_caveats import one_run
from handsfree.checks.reminders import reminders
from handsfree.checks.scope import out_of_scope
from handsfree.checks.setting_fit import Scale
from handsfree.job.finding import Binding, Finding, Verdict, ruling
from handsfree.job.job import Job
from handsfree.job.opening import Side
from handsfree.job.quantity import QUANTITIES, Quantity
from handsfree.job.reading import Subject
from handsfree.job.record import Record
from handsfree.job.unit import Unit
from handsfree.language.wording import wording


class LeafTime(Record):
    """The least travel time of a leaf, by table, formula and physics; ``words`` states it."""

    leaf: Side
    least: LeastTime
    words: str


class NoLimit(Record):
    """A reading for which the set has no limit: listed, not judged."""

    subject: Subject
    rule: str
    reading: Decimal
    unit: Unit


class Check(Record):
    """The result of comparing a job with a limit set.

    ``verdict`` is that of the worst requirement, or None if nothing was judged; ``line`` states it
    in one sentence. ``notes`` are remarks outside the rules. ``not_read`` names the quantities with
    a required limit and no reading, ``no_limit`` lists the readings for which the set has no limit.
    ``looser`` lists values that allow more than the extended set.
    """

    limits: str
    limits_sha256: str
    rule: Rule
    verdict: Verdict | None
    line: str
    findings: tuple[Finding, ...]
    least_times: tuple[LeafTime, ...]
    changes: tuple[Change, ...]
    settings: tuple[Fitted, ...]
    notes: tuple[str, ...]
    not_read: tuple[str, ...]
    no_limit: tuple[NoLimit, ...]
    looser: tuple[str, ...]
    reminders: tuple[Reminder, ...]


def check_job(
    job: Job,
    limits: LimitSet,
    rule: Rule = "guarded",
    *,
    settings: Mapping[str, Decimal] | None = None,
    scale: Scale | None = None,
) -> Check:
    """Compares every reading of the job with the limits.

    ``settings`` maps the ids of readings to the controller setting that they were taken
    at, on the ``scale`` of that setting.
    """
    judged = judge(job, limits, rule)
    findings = (*judged, *judge_pair(job, limits))
    unread = _not_read(job, limits)
    return Check(
        limits=limits.name,
        limits_sha256=limits.sha256,
        rule=rule,
        verdict=ruling(findings),
        line=verdict_line(findings, leaves=len(job.opening.leaves), not_checked=unread),
        findings=findings,
        least_times=_least_times(job, limits),
        changes=changes(job, judged, limits, rule),
        settings=fitted_settings(job, limits, settings or {}, scale) if scale else (),
        notes=(*_contradictions(job), *asymmetry(job), *filter(None, (one_run(judged),))),
        not_read=unread,
        no_limit=_no_limit(job, judged),
        looser=looser_values(limits),
        reminders=reminders(job, limits),
    )


def verdict_line(
    findings: Iterable[Finding], leaves: int = 2, not_checked: Iterable[str] = ()
) -> str:
    """The verdict in one line; the rules of a single leaf are named without the leaf."""

    def name(found: Finding) -> str:
        return f"{found.subject}, {found.rule}" if leaves > 1 else found.rule

    return headline(wording(), tally(findings, name, not_checked=tuple(not_checked)))


def _least_times(job: Job, limits: LimitSet) -> tuple[LeafTime, ...]:
    """The least opening time of every leaf of known size; the closing floor may be higher."""
    if out_of_scope(job.opening) is not None:
        return ()
    out = []
    for leaf in job.opening.leaves:
        least = travel_of(leaf, limits, limits.limit.opening_floor)
        if least is not None:
            weight = weight_of(leaf)
            assert weight is not None and leaf.width is not None  # a travel time needs both
            words = (
                f"the {leaf.name} leaf, {leaf.width} and {weight.words(wording())}, takes at "
                f"least {figure(least.seconds)} seconds by {least.ruled_by} "
                f"({_by_each(least, limits)})"
            )
            out.append(LeafTime(leaf=leaf.name, least=least, words=words))
    return tuple(out)


def _by_each(least: LeastTime, limits: LimitSet) -> str:
    by = (("table", least.table_s), ("formula", least.formula_s), ("physics", least.physics_s))
    return ", ".join(
        f"{name} {figure(seconds) if seconds is not None else 'has no such size'}"
        for name, seconds in by
        if seconds is not None or (name == "table" and limits.table_one is not None)
    )


def _contradictions(job: Job) -> list[str]:
    told = ((leaf.name, leaf_contradiction(leaf)) for leaf in job.opening.leaves)
    return [f"{name} leaf: {why}" for name, why in told if why is not None]


def _no_limit(job: Job, judged: Iterable[Finding]) -> tuple[NoLimit, ...]:
    """The readings without any finding, not even one that awaits another reading."""
    if out_of_scope(job.opening) is not None:
        return ()
    limited = {(found.quantity, found.subject) for found in judged}
    last_of = {(r.quantity, r.subject): r for r in job.readings}
    listed: list[NoLimit] = []
    for (quantity, subject), last in last_of.items():
        # The size of a leaf has no limit of its own.
        sets_one = QUANTITIES[quantity].use == "sets a limit"
        if sets_one or (quantity, subject) in limited:
            continue
        listed.append(
            NoLimit(
                subject=subject,
                rule=QUANTITIES[quantity].spoken,
                reading=last.value,
                unit=last.unit,
            )
        )
    return tuple(listed)


def _not_read(job: Job, limits: LimitSet) -> tuple[str, ...]:
    if out_of_scope(job.opening) is not None:
        return ()
    read = {reading.quantity for reading in job.readings}
    return tuple(
        QUANTITIES[quantity].spoken
        for quantity in Quantity
        if quantity not in read and _required(job, limits, quantity)
    )


def _required(job: Job, limits: LimitSet, quantity: Quantity) -> bool:
    held = applicable_limits(job, limits, quantity, Subject.OPENING)
    return any(getattr(one, "binding", Binding.REQUIREMENT) is Binding.REQUIREMENT for one in held)
