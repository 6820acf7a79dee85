"""Runs the low-energy check from options, a job file or a visit: ``handsfree check``."""

from __future__ import annotations

import json
import sys
from decimal import Decimal
from pathlib import Path
from typing import TypeVar

import click
from click.core import ParameterSource

from handsfree.checks.full_check import Check, check_job
from handsfree.checks.leaf_energy import CONTRADICTION
from handsfree.checks.limits import LimitSet, load_limits, shipped_limits
from handsfree.checks.measurement_uncertainty import Rule
from handsfree.checks.setting_fit import Scale, parse_scale
from handsfree.cli.safety_note import SAFETY_NOTE
from handsfree.cli.terminal import echo
from handsfree.errors import BadValue, JournalError
from handsfree.exit_codes import ExitCode
from handsfree.job.finding import Verdict
from handsfree.job.job import Job
from handsfree.job.opening import Activation, Operator, Side, WeightSource
from handsfree.job.quantity import QUANTITIES
from handsfree.job.reading import Taken
from handsfree.job_file.job_from_options import OPTIONS, DoorOptions, job_from_options
from handsfree.job_file.loader import load_sheet
from handsfree.language.wording import ENGLISH

E = TypeVar("E", Side, WeightSource, Activation, Operator)
DEFAULT_LIMITS = "a156.19"
_BESIDE_A_VISIT = {
    *("visit", "limits_name", "rule", "strict", "brief", "as_json", "with_reminders"),
}
_TAKEN = {
    "stopwatch": Taken.STOPWATCH,
    "by-ear": Taken.BY_EAR,
    "own-button": Taken.OWN_BUTTON,
    "gauge": Taken.GAUGE,
}


def _reading_options(command: click.Command) -> click.Command:
    for option, quantity in reversed(OPTIONS.items()):
        facts = QUANTITIES[quantity]
        help_ = f"{facts.spoken.capitalize()}: {facts.option_help}."
        command.params.insert(
            3, click.Option([f"--{option}"], metavar="VALUE", multiple=True, help=help_)
        )
    return command


def _words(
    known: type[Activation] | type[Operator] | type[WeightSource] | type[Side],
) -> click.Choice[str]:
    return click.Choice([word.replace("_", "-") for word in known])


@_reading_options
@click.command()
@click.argument("visit", required=False, type=click.Path(path_type=Path))
@click.option("--job", "job_file", type=click.Path(path_type=Path), help="A job file (TOML).")
@click.option("--leaf", type=_words(Side), help="The leaf of values that name none.")
@click.option("--open-angle", metavar="VALUE", multiple=True, help="Fully open, if beyond 90.")
@click.option("--weight-source", type=_words(WeightSource), help="Where the weight comes from.")
@click.option("--activation", type=_words(Activation), help="What opens the door.")
@click.option(
    "--operator",
    type=_words(Operator),
    help="How the leaf is moved; only a low-energy operator is judged here.",
)
@click.option("--switch-range", metavar="VALUE", help="How far a touchless switch sees a hand.")
@click.option("--held-open-by-sensor", is_flag=True, help="A sensing device keeps the leaf open.")
@click.option(
    "--construction",
    metavar="WORDS",
    help="What the leaf is made of, where its weight is not known: 'hollow metal honeycomb 18', "
    "'solid wood' or 'glass 12mm'; needs --height.",
)
@click.option(
    "--scale",
    metavar="LOW:HIGH[:STEP]",
    help="What the setting of the controller can be, to fit values that name one (2.9@5).",
)
@click.option(
    "--higher-is",
    type=click.Choice(["faster", "slower"]),
    default="faster",
    show_default=True,
    help="What a higher setting does.",
)
@click.option("--fire-rated", is_flag=True, help="It is a fire door.")
@click.option(
    "--taken",
    type=click.Choice(list(_TAKEN)),
    default="stopwatch",
    show_default=True,
    help="How times were taken; own-button: a clock started by your own press of the plate; "
    "gauge: by an instrument such as a light barrier.",
)
@click.option("--limits", "limits_name", metavar="NAME|FILE", help="[default: the job's own]")
@click.option(
    "--rule",
    type=click.Choice(["guarded", "simple"]),
    default="guarded",
    show_default=True,
    help="Decision rule: a guarded pass clears the limit by the doubt of the reading.",
)
@click.option(
    "--strict", is_flag=True, help="Exit with 1 also when something is too close or not judged."
)
@click.option("--brief", is_flag=True, help="Print the verdict only, in one line.")
@click.option(
    "--reminders",
    "with_reminders",
    is_flag=True,
    help="Print what else to look at on this door as well; none of it is judged.",
)
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")
def check(
    visit: Path | None,
    job_file: Path | None,
    leaf: str | None,
    open_angle: tuple[str, ...],
    weight_source: str | None,
    activation: str | None,
    operator: str | None,
    switch_range: str | None,
    held_open_by_sensor: bool,
    construction: str | None,
    scale: str | None,
    higher_is: str,
    fire_rated: bool,
    taken: str,
    limits_name: str | None,
    rule: Rule,
    strict: bool,
    brief: bool,
    with_reminders: bool,
    as_json: bool,
    **readings: tuple[str, ...],
) -> None:
    """Compares readings with the low-energy limits.

    The readings come from options, from a job file, or from a VISIT.

    A reading given several times is several runs: of times the mean is judged, of all else
    the worst run. A size is given once. On a pair a value names its leaf (left:3.2). A value
    may name the setting of the controller that it was taken at (2.9@5): the first setting is
    as found, the last as left, and from two settings on the one to try next is fitted.

    Exits with 0 when no requirement fails, 1 when one fails or two readings contradict each other,
    2 on bad input. A reading that is too close to call is not a pass: the verdict says so, and
    --strict makes it 1.

    \b
    Examples:
      handsfree check --width 36in --weight 150lb --backcheck 70 --opening 3.2 \\
        --total-opening 5 --hold-open 5 --closing 3.6 --latching 1.6
      handsfree check --job hall.job.toml --opening left:4.1 --opening right:4.3
      handsfree check visits/harbour-hall
    """
    values = {option: readings[option.replace("-", "_")] for option in OPTIONS}
    settings: dict[str, Decimal] = {}
    unnamed = False
    if visit is not None:
        _refuse_beside_a_visit()
        job, limits = _of_visit(visit, limits_name)
    else:
        sheet = load_sheet(job_file, shipped_limits()) if job_file is not None else None
        stated = {
            "activation": _maybe(Activation, activation),
            "operator": _maybe(Operator, operator),
            "fire_rated": fire_rated or None,
            "held_open_by_sensor": held_open_by_sensor or None,
        }
        door = DoorOptions(
            leaf=_maybe(Side, leaf),
            open_angle=open_angle,
            weight_source=_maybe(WeightSource, weight_source),
            construction=construction,
            switch_range=switch_range,
            opening=tuple((key, value) for key, value in stated.items() if value is not None),
        )
        job, settings, unnamed = job_from_options(values, sheet, door, _TAKEN[taken])
        limits = load_limits(limits_name or (sheet.limits if sheet else DEFAULT_LIMITS))
    if settings and scale is None:
        raise BadValue(
            "a setting was given without the scale it is on", way_out="add for example --scale 1:9"
        )
    # One language on one screen: the table, its heads and the reasons are English.
    job = job.model_copy(update={"sheet": job.sheet.model_copy(update={"language": ENGLISH})})
    checked = check_job(job, limits, rule, settings=settings, scale=_scale(scale, higher_is))
    if not (checked.findings or checked.no_limit):
        raise BadValue(
            "there is nothing to judge", way_out="give at least one reading, such as --opening 3.2"
        )
    name = _without_side if unnamed else str
    if as_json:
        body = {**checked.model_dump(mode="json"), "note": SAFETY_NOTE}
        echo(name(json.dumps(body)))
    elif brief:
        echo(name(checked.line))
    else:
        from handsfree.cli.check_text import show  # rich, which the other two do without

        show(checked, limits, job, name, with_reminders=with_reminders)
    sys.exit(ExitCode.FOUND if _fails(checked, strict=strict) else ExitCode.DONE)


def _fails(checked: Check, *, strict: bool) -> bool:
    contradicts = any(found.rule == CONTRADICTION for found in checked.findings)
    fails = contradicts or checked.verdict is Verdict.FAIL
    return fails or (strict and checked.verdict not in (Verdict.PASS, None))


def _scale(text: str | None, higher_is: str) -> Scale | None:
    if text is None:
        return None
    try:
        slower = higher_is == "slower"
        return parse_scale(text, "higher is slower" if slower else "higher is faster")
    except BadValue as error:
        raise BadValue(f"--scale: {error.message}", way_out=error.way_out) from error


def _refuse_beside_a_visit() -> None:
    """Raises UsageError for an option that describes a door, which a visit already does."""
    context = click.get_current_context()
    given = [
        f"--{name.replace('_', '-').removesuffix('-file')}"
        for name in context.params
        if name not in _BESIDE_A_VISIT
        and context.get_parameter_source(name) is ParameterSource.COMMANDLINE
    ]
    if given:
        raise click.UsageError(
            f"a visit already has its door and readings: leave out {', '.join(sorted(given))}"
        )


def _of_visit(folder: Path, limits_name: str | None) -> tuple[Job, LimitSet]:
    """The job in a visit's journal, and the limits that it was judged by."""
    # The journal's records take longer to build than a check of options.
    from handsfree.journal import events as ev
    from handsfree.journal.reader import read
    from handsfree.visit_record.progress import job_of

    events = read(folder)
    first = events[0].body if events else None
    if not isinstance(first, ev.VisitOpened):
        raise JournalError("does not begin with the opening of a visit", file=folder, line=1)
    limits = load_limits(limits_name or first.sheet.limits)
    if limits_name is None and limits.sha256 != first.limits_sha256:
        echo("The limit set has changed since this visit: judged by it as it is now.", err=True)
    return job_of(events), limits


def _without_side(text: str) -> str:
    """The text with 'the leaf' for a single leaf that no option named."""
    return text.replace("left leaf", "leaf")


def _maybe(kind: type[E], word: str | None) -> E | None:
    return None if word is None else kind(word.replace("-", "_"))
