"""Checks the readings of a door against a limit set, from Python."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from decimal import Decimal
from pathlib import Path

from handsfree.checks.full_check import check_job
from handsfree.checks.limits import load_limits, shipped_limits
from handsfree.checks.measurement_uncertainty import Rule
from handsfree.errors import BadValue
from handsfree.job.finding import Binding, Finding, Verdict
from handsfree.job.job import Job, Sheet, UnitFamily
from handsfree.job.opening import Leaf, Opening, Side, Swing
from handsfree.job.quantity import QUANTITIES, SETTINGS, Quantity
from handsfree.job.reading import Reading, Subject, Taken
from handsfree.job.record import Record
from handsfree.job.unit import Family, Measure, Unit, parse_measure
from handsfree.job_file.loader import load_sheet
from handsfree.language.wording import ENGLISH
from handsfree.toml_source import nearest

Readings = Mapping[str, str | Sequence[str]]
"""Values by quantity: ``{"opening_time": ["4.1", "4.3"], "leaf_width": "36in"}``. A list means
several runs.
"""

DEFAULT_LIMITS = "a156.19"
_OF_THE_OPENING = (
    *(Quantity.CLEAR_WIDTH, Quantity.NEXT_SERVICE, Quantity.PLATE_DISTANCE),
    *(Quantity.PLATE_HEIGHT, Quantity.SIGN_HEIGHT),
)
_OF_A_LEAF = tuple(q for q in Quantity if q not in (*_OF_THE_OPENING, *SETTINGS, Quantity.CYCLES))
_NEEDS_UNIT = (Family.LENGTH, Family.MASS, Family.FORCE)
_METRIC = (Unit.MILLIMETRE, Unit.CENTIMETRE, Unit.METRE, Unit.KILOGRAM, Unit.NEWTON)
_SUBJECTS = {Side.LEFT: Subject.LEFT_LEAF, Side.RIGHT: Subject.RIGHT_LEAF}


class DoorFinding(Record):
    """One rule applied to a leaf or to the opening.

    ``reading`` and ``limit`` are in ``unit``; ``bound`` is 'at least' or 'at most'. They are None
    if nothing was read or the rule has no number. ``required`` is False for a recommendation, which
    never decides the verdict. ``why`` explains the limit, ``advice`` says what to do, ``source``
    names the limit set, the clause and the status of the value.
    """

    subject: str
    rule: str
    verdict: Verdict
    required: bool
    reading: Decimal | None
    limit: Decimal | None
    bound: str | None
    unit: str
    why: str
    advice: str
    source: str


class DoorCheck(Record):
    """The result of a check.

    ``verdict`` is that of the worst required rule, None if no rule was checked. ``line`` is one
    sentence in English. ``not_read`` names the quantities that have a required limit and no
    reading.
    """

    limits: str
    verdict: Verdict | None
    line: str
    findings: tuple[DoorFinding, ...]
    not_read: tuple[str, ...]

    @property
    def passes(self) -> bool:
        """True if every required rule that was checked passes; too close to call is not a pass."""
        return self.verdict is Verdict.PASS


def check_door(
    leaf: Readings | None = None,
    *,
    left: Readings | None = None,
    right: Readings | None = None,
    opening: Readings | None = None,
    job: str | Path | None = None,
    limits: str | Path | None = None,
    rule: Rule = "guarded",
) -> DoorCheck:
    """Compares readings with the low-energy limits, as ``handsfree check`` does.

    ``leaf`` holds the readings of a single leaf, ``left`` and ``right`` those of a pair,
    ``opening`` those of the whole opening (``next_service``, ``clear_width`` ...). Keys are the
    names of quantities. Values are texts; lengths, weights and forces need their unit ('36in', '68
    kg', '12lbf'), times are in s, angles in degrees. Times count as taken with a stopwatch. Of
    several times the mean is checked, of everything else the worst run.

    ``job`` is a job file that describes the opening. ``limits`` is the name of a shipped limit set
    or a file; by default the job's own, otherwise 'a156.19'. With the ``rule`` 'guarded' a pass has
    to clear the limit by the measurement uncertainty; with 'simple' the limit alone decides.

    A failing door raises no error. Raises HandsfreeError for an unknown quantity, a value that
    cannot be read or is not plausible, a leaf that the door does not have, and for files that are
    missing or wrong.
    """
    sheet = None if job is None else load_sheet(Path(job), shipped_limits())
    values = _by_side(leaf, left, right, sheet)
    if not any((*values.values(), opening)):
        raise BadValue(
            "there is nothing to check", way_out='give a reading: {"opening_time": "4.1"}'
        )
    checked_job = _job(values, opening or {}, sheet)
    limit_set = load_limits(limits or (sheet.limits if sheet else DEFAULT_LIMITS))
    checked = check_job(checked_job, limit_set, rule)
    unnamed = leaf is not None and sheet is None
    name = _without_side if unnamed else str
    return DoorCheck(
        limits=checked.limits,
        verdict=checked.verdict,
        line=name(checked.line),
        findings=tuple(door_finding(found, name) for found in checked.findings),
        not_read=tuple(name(each) for each in checked.not_read),
    )


def door_finding(found: Finding, name: Callable[[str], str] = str) -> DoorFinding:
    """A finding in the form of the public API; ``name`` may change the name of a leaf."""
    return DoorFinding(
        subject=name(found.subject),
        rule=found.rule,
        verdict=found.verdict,
        required=found.binding is Binding.REQUIREMENT,
        reading=found.reading,
        limit=found.limit,
        bound=found.bound,
        unit=found.unit,
        why=name(found.why),
        advice=name(found.advice),
        source=found.source,
    )


def _by_side(
    leaf: Readings | None, left: Readings | None, right: Readings | None, sheet: Sheet | None
) -> dict[Side, Readings]:
    """The readings of each leaf of the door. Raises BadValue if they do not fit the door."""
    if leaf is not None and (left is not None or right is not None):
        raise BadValue("readings of a single leaf and of a pair", way_out="give left= and right=")
    named = {Side.LEFT: left, Side.RIGHT: right}
    there = [Side.LEFT] if sheet is None else [each.name for each in sheet.opening.leaves]
    if leaf is not None:
        if len(there) > 1:
            raise BadValue("leaf= on a pair", way_out="give left= and right=")
        return {there[0]: leaf}
    given = {side: readings for side, readings in named.items() if readings is not None}
    if sheet is not None and (extra := [side for side in given if side not in there]):
        raise BadValue(
            f"this door has no {extra[0]} leaf", way_out=f"it has a {there[0]} leaf only"
        )
    return {side: given.get(side, {}) for side in (there if sheet is not None else given or there)}


def _job(values: Mapping[Side, Readings], opening: Readings, sheet: Sheet | None) -> Job:
    """The door with its readings."""
    read = [
        (quantity, _SUBJECTS[side], measure)
        for side, readings in values.items()
        for quantity, measure in _measures(readings, _OF_A_LEAF)
    ]
    read += [(q, Subject.OPENING, measure) for q, measure in _measures(opening, _OF_THE_OPENING)]
    if sheet is None:
        metric = any(measure.unit in _METRIC for _, _, measure in read)
        sheet = _sheet(list(values), "metric" if metric else "us")
    # The result is in English, whatever the language of the job.
    job = Job.open(sheet.model_copy(update={"language": ENGLISH}))
    for quantity, subject, measure in read:
        timed = QUANTITIES[quantity].family is Family.TIME
        job = job.with_reading(
            Reading(
                id=f"r{len(job.readings) + 1}",
                quantity=quantity,
                subject=subject,
                value=measure.value,
                unit=measure.unit,
                taken=Taken.STOPWATCH if timed else Taken.GAUGE,
                run=len(job.runs(quantity, subject)) + 1 if job.latest(quantity, subject) else 1,
            )
        )
    return job


def _sheet(sides: list[Side], units: UnitFamily) -> Sheet:
    """A door with these leaves and no other known facts."""
    swing = Swing.SAME_WAY if len(sides) > 1 else Swing.SINGLE
    leaves = tuple(Leaf(name=side) for side in sides)
    opening = Opening(name="door", seen_from="here", swing=swing, leaves=leaves, motors=())
    return Sheet(reference="check", site="", technician="", opening=opening, units=units)


def _measures(readings: Readings, known: Sequence[Quantity]) -> list[tuple[Quantity, Measure]]:
    """Every value with its quantity. Raises BadValue that names quantity and value."""
    found = []
    for key, texts in readings.items():
        if key not in known:
            raise BadValue(f"'{key}' cannot be read here", way_out=nearest(key, known))
        quantity = Quantity(key)
        for text in texts if isinstance(texts, list | tuple) else [texts]:
            if not isinstance(text, str):
                raise BadValue(f"{key}: {text!r} is not text", way_out=f"write it as '{text}'")
            found.append((quantity, _measure(quantity, text)))
    return found


def _measure(quantity: Quantity, text: str) -> Measure:
    facts = QUANTITIES[quantity]
    plausible = f"plausible is {facts.plausible_range}"
    try:
        measure = parse_measure(
            text, facts.family, None if facts.family in _NEEDS_UNIT else facts.unit
        )
    except BadValue as error:
        way_out = f"{error.way_out}; {plausible}" if error.way_out else plausible
        raise BadValue(f"{quantity}: {error.message}", way_out=way_out) from error
    if not facts.plausible(measure):
        raise BadValue(f"{quantity}: {text} is not a {facts.spoken}", way_out=plausible)
    return measure


def _without_side(text: str) -> str:
    """Replaces a single leaf that nobody named by 'the leaf'."""
    return text.replace("left leaf", "leaf")
