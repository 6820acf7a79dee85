"""Measures a leaf from a phone's log of rotation rates: ``handsfree motion``."""

from __future__ import annotations

import json
import sys
from decimal import Decimal
from pathlib import Path
from typing import Any

import click

from handsfree.checks.evaluate import judge
from handsfree.checks.largest_energy import (
    COVERAGE,
    LargestEnergy,
    inertia_share,
    judge_largest_energy,
)
from handsfree.checks.leaf_energy import RULES
from handsfree.checks.leaf_weight import inertia_of, weight_of
from handsfree.checks.limits import load_limits, shipped_limits
from handsfree.checks.measurement_uncertainty import Rule
from handsfree.cli.picture_file import write_picture
from handsfree.cli.safety_note import MOTION_NOTE
from handsfree.cli.terminal import echo
from handsfree.errors import BadValue, MotionError
from handsfree.exit_codes import ExitCode
from handsfree.job.finding import Finding, Verdict
from handsfree.job.job import Job
from handsfree.job.opening import Leaf, Side
from handsfree.job.quantity import QUANTITIES
from handsfree.job.reading import Taken
from handsfree.job.unit import Unit, convert, in_base_unit
from handsfree.job_file.job_from_options import DoorOptions, job_from_options
from handsfree.job_file.loader import load_sheet
from handsfree.motion.leaf_energy_peak import EnergyPeak, energy_peaks
from handsfree.motion.measure import measure
from handsfree.motion.motion_record import CycleMotion, MeasuredMotion
from handsfree.motion.motion_svg import motion_svg
from handsfree.motion.rotation_log import RateUnit, read_rotation_log

DEFAULT_LIMITS = "a156.19"
_WORDS = {
    "phone slipped": "the phone slipped on the leaf: tape it down and log again",
    "uneven speed": "the speed rises a second time: was the leaf pushed or held, or does it bind?",
    "stopped on the way": "the leaf stopped on the way",
    "turned back": "the leaf turned back on the way",
    "did not close": "the leaf did not end where it began: not closed, or the log is disturbed",
    "did not open": "the leaf opened less than half way",
}


@click.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--job", "job_file", type=click.Path(path_type=Path), help="A job file (TOML).")
@click.option("--leaf", type=click.Choice([side.value for side in Side]), help="Which leaf.")
@click.option("--width", metavar="VALUE", help="Leaf width, such as 36in, without a job file.")
@click.option("--weight", metavar="VALUE", help="Leaf weight, such as 150lb, without a job file.")
@click.option(
    "--open-angle",
    type=click.FloatRange(30, 190),
    metavar="DEGREES",
    help="The fully open angle by a square: it removes the scale error of the phone.",
)
@click.option("--cycles", type=click.IntRange(min=1), help="How many cycles the log holds.")
@click.option(
    "--unit",
    type=click.Choice(["rad/s", "deg/s"]),
    help="Unit of the rates, where the header of the log does not name it.",
)
@click.option("--limits", "limits_name", metavar="NAME|FILE", help="[default: the job's own]")
@click.option(
    "--rule",
    type=click.Choice(["guarded", "simple"]),
    default="guarded",
    show_default=True,
    help="Decision rule: a guarded pass clears the limit by the doubt of the measurement.",
)
@click.option("--svg", type=click.Path(path_type=Path), help="Draw angle and energy over time.")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")
def motion(
    file: Path,
    job_file: Path | None,
    leaf: str | None,
    width: str | None,
    weight: str | None,
    open_angle: float | None,
    cycles: int | None,
    unit: RateUnit | None,
    limits_name: str | None,
    rule: Rule,
    svg: Path | None,
    as_json: bool,
) -> None:
    """Measures a leaf from a phone's log of rotation rates.

    Tape the phone flat to the leaf, anywhere. Start a logging app that writes the gyroscope as
    CSV, wait two seconds, let the door open and close by itself, wait two seconds, stop. The log
    gives the times of the cycle, the angles, and the largest energy, which a stopwatch cannot.

    Exits with 0 when no requirement fails, 1 when one fails, 2 on bad input. A cycle in which the
    phone slipped, the leaf was pushed or did not close says so and is not judged; a log without any
    other cycle is bad input.

    \b
    Example:
      handsfree motion left-leaf.csv --job hall.job.toml --leaf left --open-angle 90
    """
    sheet = load_sheet(job_file, shipped_limits()) if job_file is not None else None
    limits = load_limits(limits_name or (sheet.limits if sheet else DEFAULT_LIMITS))
    side = _side(sheet.opening.leaves if sheet else (), leaf)
    log = _measured(file, unit, open_angle, cycles)
    values = _values(log, side)
    values.update({name: (text,) for name, text in (("width", width), ("weight", weight)) if text})
    job, _, _ = job_from_options(values, sheet, DoorOptions(leaf=side), Taken.GAUGE)
    this = job.opening.leaf(side)
    assert this is not None  # job_from_options creates the leaf that is named
    metric = job.sheet.units == "metric"
    inertia = inertia_of(this)
    weight_used = weight_of(this)
    share = inertia_share(weight_used.source if weight_used is not None else None)
    energies = [
        (nth, peak, judge_largest_energy(peak.energy_j, peak.uncertainty_j, limits,
                                         metric=metric, rule=rule))
        for nth, cycle in enumerate(log.cycles, start=1)
        if inertia is not None and not cycle.flags
        for peak in energy_peaks(cycle, inertia, share, _width_m(this))
    ]  # fmt: skip
    findings = [
        found
        for found in judge(job, limits, rule)
        if found.rule not in RULES.values() and found.reading_id is not None
    ]
    if svg is not None:
        energy_unit = Unit.JOULE if metric else limits.limit.energy.unit
        per_j = float(convert(Decimal(1), Unit.JOULE, energy_unit))
        limit_j = in_base_unit(limits.limit.energy.value, limits.limit.energy.unit)
        write_picture(
            svg, motion_svg(log, inertia, limit_j, unit=str(energy_unit), per_j=per_j), MotionError
        )
    if as_json:
        echo(json.dumps(_fields(file, side, log, findings, energies), ensure_ascii=False, indent=1))
    else:
        echo(_text(log, job, findings, energies, inertia is not None))
    if all(cycle.flags for cycle in log.cycles):
        why = dict.fromkeys(_WORDS[flag] for cycle in log.cycles for flag in cycle.flags)
        raise MotionError(
            f"no cycle can be judged: {'; '.join(why)}",
            file=file,
            way_out="log the leaf again, from closed to closed and left to itself",
        )
    fails = any(each.verdict is Verdict.FAIL for each in findings)
    fails = fails or any(judged.verdict is Verdict.FAIL for _, _, judged in energies)
    sys.exit(ExitCode.FOUND if fails else ExitCode.DONE)


def _width_m(leaf: Leaf) -> float | None:
    return leaf.width.in_base_unit() if leaf.width is not None else None


def _side(leaves: tuple[Leaf, ...], named: str | None) -> Side:
    sides = [leaf.name for leaf in leaves]
    if named is not None:
        if sides and Side(named) not in sides:
            raise BadValue(f"--leaf: the job has no {named} leaf", way_out=f"say {sides[0]}")
        return Side(named)
    if len(sides) > 1:
        raise BadValue("the job has two leaves", way_out="say which with --leaf left or right")
    return sides[0] if sides else Side.LEFT


def _measured(
    file: Path, unit: RateUnit | None, open_angle: float | None, cycles: int | None
) -> MeasuredMotion:
    log = read_rotation_log(file, unit)
    try:
        return measure(log, open_angle_deg=open_angle, cycles=cycles)
    except MotionError as error:
        raise MotionError(error.message, file=file, way_out=error.way_out) from error


def _values(log: MeasuredMotion, side: Side) -> dict[str, tuple[str, ...]]:
    """The readings of all unflagged cycles, in the form of the options of ``check``."""
    out: dict[str, tuple[str, ...]] = {}
    for cycle in log.cycles:
        if cycle.flags:
            continue
        for each in cycle.times:
            option = QUANTITIES[each.quantity].option
            assert option is not None  # every time has a value
            out[option] = (*out.get(option, ()), f"{side}:{each.seconds:.2f}")
        if cycle.backcheck is not None:
            out["backcheck"] = (f"{side}:{cycle.backcheck.degrees:.0f}",)
    return out


def _fields(
    file: Path,
    side: Side,
    log: MeasuredMotion,
    findings: list[Finding],
    energies: list[tuple[int, EnergyPeak, LargestEnergy]],
) -> dict[str, Any]:
    return {
        "file": str(file),
        "leaf": side.value,
        **log.model_dump(mode="json", exclude={"curve"}),
        "findings": [found.model_dump(mode="json", exclude_none=True) for found in findings],
        "largest_energies": [
            {"cycle": nth, **peak.model_dump(mode="json"), **judged.model_dump(mode="json")}
            for nth, peak, judged in energies
        ],
        "note": MOTION_NOTE,
    }


def _text(
    log: MeasuredMotion,
    job: Job,
    findings: list[Finding],
    energies: list[tuple[int, EnergyPeak, LargestEnergy]],
    known_inertia: bool,
) -> str:
    scale = (
        f"scaled by {log.scale:.4f} to the known angle"
        if log.scale != 1.0
        else "scale as the phone has it, ± 2 %: --open-angle removes that"
    )
    lines = [
        f"{log.rate_hz:.0f} samples a second, noise {log.noise_deg_s:.2f} and bias "
        f"{log.bias_deg_s:.2f} degrees a second; {scale}"
    ]
    for nth, cycle in enumerate(log.cycles, start=1):
        lines += ["", f"Cycle {nth}, from {cycle.begins_s:.1f} to {cycle.ends_s:.1f} s"]
        lines += _cycle_lines(cycle)
        lines += [_energy_line(peak, judged) for at, peak, judged in energies if at == nth]
    if not known_inertia:
        lines += ["", "No energy: the width and the weight of the leaf are not known."]
    if findings:
        lines += ["", "Judged:"]
        lines += [
            f"  {found.verdict.value.upper():<10} {found.rule}: {found.why}" for found in findings
        ]
    return "\n".join([*lines, "", MOTION_NOTE])


def _cycle_lines(cycle: CycleMotion) -> list[str]:
    lines = [f"  Not judged: {_WORDS[flag]}." for flag in cycle.flags]
    for each in cycle.times:
        name = QUANTITIES[each.quantity].spoken
        lines.append(f"  {name:<24} {each.seconds:6.2f} s ± {COVERAGE * each.uncertainty_s:.2f}")
    for name, angle in (
        ("fully open at", cycle.open_angle),
        ("backcheck begins at", cycle.backcheck),
    ):
        if angle is not None:
            doubt = COVERAGE * angle.uncertainty_deg
            lines.append(f"  {name:<24} {angle.degrees:6.1f} degrees ± {doubt:.1f}")
    for name, top in (
        ("fastest while opening", cycle.opening),
        ("fastest while closing", cycle.closing),
    ):
        if top is not None:
            doubt = COVERAGE * top.relative_uncertainty * top.speed_deg_s
            lines.append(
                f"  {name:<24} {top.speed_deg_s:6.1f} degrees a second ± {doubt:.1f}, "
                f"at {top.angle_deg:.0f} degrees"
            )
    if cycle.latch_speed_deg_s is not None:
        lines.append(f"  {'arrives with':<24} {cycle.latch_speed_deg_s:6.1f} degrees a second")
    return lines


def _energy_line(peak: EnergyPeak, judged: LargestEnergy) -> str:
    name = f"largest energy, {peak.travel}"
    return (
        f"  {name:<24} {judged.energy:6} {judged.unit} ± {judged.doubt}, limit {judged.limit}: "
        f"{judged.verdict.value.upper()} (at {peak.angle_deg:.0f} degrees)"
    )
