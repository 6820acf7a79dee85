"""handsfree check: the low-energy check of one leaf, without a visit."""

from __future__ import annotations

import json
import sys
from decimal import Decimal

import click
from rich.console import Console
from rich.table import Table

from handsfree.checks.doubt import Rule
from handsfree.checks.judge import judge
from handsfree.checks.limits import LimitSet, load_limits
from handsfree.checks.spoken import figure
from handsfree.errors import BadValue
from handsfree.job.finding import Finding, Verdict
from handsfree.job.job import Job, Sheet
from handsfree.job.opening import Leaf, Opening, Side, Swing
from handsfree.job.quantity import QUANTITIES, Quantity
from handsfree.job.reading import Reading, Subject, Taken
from handsfree.job.unit import Measure, Unit, parse_measure

SAFETY_NOTE = (
    "The formula takes a constant speed: a leaf that meets its time and ramps up hard can still "
    "exceed the energy. Local codes, the authority having jurisdiction and licensed practice "
    "come first; this check makes no door safe."
)
_STYLE = {
    Verdict.PASS: "green",
    Verdict.FAIL: "bold red",
    Verdict.TOO_CLOSE: "yellow",
    Verdict.NOT_JUDGED: "dim",
}
# Option, quantity, what it is.
_READINGS = (
    ("backcheck", Quantity.BACKCHECK_ANGLE, "where backcheck begins, in degrees"),
    ("opening", Quantity.OPENING_TIME, "closed to backcheck or 80 degrees, in seconds"),
    ("total-opening", Quantity.TOTAL_OPENING_TIME, "closed to 90 degrees, in seconds"),
    ("hold-open", Quantity.HOLD_OPEN_TIME, "fully open until it starts to close, in seconds"),
    ("closing", Quantity.CLOSING_TIME, "90 to 10 degrees, in seconds"),
    ("latching", Quantity.LATCHING_TIME, "10 degrees to closed, in seconds"),
    ("opening-force", Quantity.OPENING_FORCE, "stalled while opening, such as 12lbf or 53N"),
    ("closing-force", Quantity.CLOSING_FORCE, "stalled while closing, such as 12lbf or 53N"),
    ("plate-distance", Quantity.PLATE_DISTANCE, "plate to door centre, such as 8ft or 2.4m"),
)


def _reading_options(command: click.Command) -> click.Command:
    for name, quantity, what in reversed(_READINGS):
        help_ = f"{QUANTITIES[quantity].spoken.capitalize()}: {what}."
        command.params.insert(
            2, click.Option([f"--{name}"], metavar="VALUE", multiple=True, help=help_)
        )
    return command


@_reading_options
@click.command()
@click.option("--width", required=True, metavar="VALUE", help="Leaf width, such as 36in or 914mm.")
@click.option("--weight", required=True, metavar="VALUE", help="Leaf weight: 150lb or 68kg.")
@click.option("--limits", "limits_name", default="a156.19", show_default=True, metavar="NAME|FILE")
@click.option(
    "--rule",
    type=click.Choice(["guarded", "simple"]),
    default="guarded",
    show_default=True,
    help="Decision rule: a guarded pass clears the limit by the doubt of the reading.",
)
@click.option(
    "--strict", is_flag=True, help="Exit with 1 also when something is too close to call."
)
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")
def check(
    width: str,
    weight: str,
    limits_name: str,
    rule: Rule,
    strict: bool,
    as_json: bool,
    **readings: tuple[str, ...],
) -> None:
    """Compares one leaf's readings with the low-energy limits.

    A reading given several times is several runs, and their mean is judged.

    Exits with 0 when nothing fails, 1 when some finding fails, 2 on bad input. A reading
    that is too close to call is no pass: the verdict says so, and --strict makes it 1.

    \b
    Example:
      handsfree check --width 36in --weight 150lb --backcheck 70 --opening 3.2 \\
        --total-opening 5 --hold-open 5 --closing 3.6 --latching 1.6
    """
    limits = load_limits(limits_name)
    job = _job(width, weight, readings)
    findings = judge(job, limits, rule)
    if not findings:
        raise BadValue(
            "there is nothing to judge", way_out="give at least one reading, such as --opening 3.2"
        )
    verdicts = {finding.verdict for finding in findings}
    if as_json:
        found = [finding.model_dump(mode="json") for finding in findings]
        body = {"limits": limits.name, "rule": rule, "verdict": _verdict(findings)}
        click.echo(json.dumps({**body, "findings": found, "note": SAFETY_NOTE}))
    else:
        _show(findings, limits)
    sys.exit(Verdict.FAIL in verdicts or (strict and verdicts != {Verdict.PASS}))


def _job(width: str, weight: str, readings: dict[str, tuple[str, ...]]) -> Job:
    leaf = Leaf(
        name=Side.LEFT,
        width=_measure("width", Quantity.LEAF_WIDTH, width, needs_unit=True),
        weight=_measure("weight", Quantity.LEAF_WEIGHT, weight, needs_unit=True),
    )
    opening = Opening(name="leaf", seen_from="here", swing=Swing.SINGLE, leaves=(leaf,), motors=())
    job = Job.open(Sheet(reference="check", site="", technician="", opening=opening))
    for name, quantity, _ in _READINGS:
        on_leaf = quantity is not Quantity.PLATE_DISTANCE
        for run, text in enumerate(readings[name.replace("-", "_")], start=1):
            measure = _measure(name, quantity, text)
            job = job.with_reading(
                Reading(
                    id=f"{name}-{run}",
                    quantity=quantity,
                    subject=Subject.LEFT_LEAF if on_leaf else Subject.LEFT_PLATE,
                    value=measure.value,
                    unit=measure.unit,
                    taken=Taken.TYPED,
                    run=run,
                )
            )
    return job


def _measure(name: str, quantity: Quantity, text: str, *, needs_unit: bool = False) -> Measure:
    """The option's value. Raises BadValue that names the option and the plausible range."""
    facts = QUANTITIES[quantity]
    plausible = f"from {_amount(facts.low, facts.unit)} to {_amount(facts.high, facts.unit)}"
    try:
        measure = parse_measure(text, facts.family, None if needs_unit else facts.unit)
    except BadValue as error:
        raise BadValue(
            f"--{name}: {error.message}", way_out=error.way_out or f"plausible is {plausible}"
        ) from error
    if not facts.plausible(measure):
        raise BadValue(
            f"--{name}: {text} is no {facts.spoken}", way_out=f"plausible is {plausible}"
        )
    return measure


def _amount(value: Decimal, unit: Unit) -> str:
    return f"{value} {unit}"


def _show(findings: tuple[Finding, ...], limits: LimitSet) -> None:
    console = Console(highlight=False)
    table = Table(title=limits.title, title_justify="left")
    for column in ("rule", "reading", "limit", "doubt", "verdict", "source"):
        table.add_column(column, overflow="fold")
    for finding in findings:
        table.add_row(
            finding.rule,
            _value(finding.reading, finding.unit),
            f"{finding.bound} {_value(finding.limit, finding.unit)}" if finding.bound else "",
            f"± {figure(finding.guard_band)}" if finding.guard_band else "",
            str(finding.verdict),
            finding.source.partition("; ")[2],
            style=_STYLE[finding.verdict],
        )
    console.print(table)
    for finding in findings:
        if finding.verdict is not Verdict.PASS:
            for said in filter(None, (finding.why, finding.advice)):
                console.print(f"{said[0].upper()}{said[1:]}.")
    console.print(_verdict(findings), style="bold")
    console.print(SAFETY_NOTE)


def _value(value: Decimal | None, unit: str) -> str:
    return "" if value is None else f"{figure(value)} {unit}"


def _verdict(findings: tuple[Finding, ...]) -> str:
    """One line in plain words."""
    for verdict, words in (
        (Verdict.FAIL, "Not in order"),
        (Verdict.TOO_CLOSE, "Not proven, too close to call"),
        (Verdict.NOT_JUDGED, "Not proven, a reading is missing for"),
    ):
        rules = [finding.rule for finding in findings if finding.verdict is verdict]
        if rules:
            return f"{words}: {', '.join(rules)}."
    return "Every reading that was judged is within its limit."
