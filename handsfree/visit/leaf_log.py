"""Measures a leaf by the newest log of rotation rates in a visit's folder."""

from __future__ import annotations

from collections.abc import Collection
from decimal import Decimal
from pathlib import Path

from handsfree.checks.measured_energy import energy_at
from handsfree.checks.measurement_uncertainty import MOST_RUNS
from handsfree.errors import MotionError
from handsfree.job.job import Job, leaf_side
from handsfree.job.opening import Leaf
from handsfree.job.reading import LargestSpeed, Subject
from handsfree.journal.canonical_json import sha256_of
from handsfree.journal.motion_events import (
    LeafMeasured,
    MeasuredAngle,
    MeasuredCycle,
    MeasuredSpeed,
    MeasuredTime,
)
from handsfree.journal.motion_logs import LOG_NAME, LOGS, MOST_OF_LOG
from handsfree.motion.motion_record import Angle, CycleMotion
from handsfree.motion.plain_numpy import provide
from handsfree.toml_source import file_bytes


def measure_newest(
    folder: Path,
    leaf: Subject,
    job: Job,
    used: Collection[str],
    open_angle_deg: Decimal | None = None,
) -> LeafMeasured:
    """Measures ``leaf`` by the newest log below ``folder`` whose name is not in ``used``.

    ``open_angle_deg`` is the fully open angle measured with a square (degrees), if it was said. An
    unusable log gives a record with the reason.
    """
    newest = _newest(folder / LOGS, used)
    if newest is None:
        return LeafMeasured(leaf=leaf)
    if not LOG_NAME.fullmatch(newest.name):
        return LeafMeasured(
            leaf=leaf,
            problem="its name has other signs than letters, digits and dashes: rename it",
            fault="bad_name",
        )
    provide()
    # Imported here, because they import numpy.
    from handsfree.motion.measure import measure
    from handsfree.motion.rotation_log import read_rotation_log

    refused = LeafMeasured(leaf=leaf, log=newest.name, known_angle_deg=open_angle_deg)
    known = None if open_angle_deg is None else float(open_angle_deg)
    try:
        sha256 = _sha256(newest)
        found = measure(read_rotation_log(newest), open_angle_deg=known)
        copied = sha256 == _sha256(newest)
    except MotionError as error:
        return refused.model_copy(update={"problem": error.message, "fault": error.fault})
    except OSError as error:
        why = (error.strerror or "it cannot be read").lower()
        return refused.model_copy(update={"problem": why, "fault": "unreadable"})
    if not copied:
        why = "it is still being copied"
        return refused.model_copy(update={"problem": why, "fault": "still_copied"})
    record = refused.model_copy(
        update={
            "log_sha256": sha256,
            "cycles": len(found.cycles),
            "scale": None if known is None else _decimal(found.scale, 4),
        }
    )
    if len(found.cycles) > MOST_RUNS:
        return record
    side = leaf_side(leaf)
    this = job.opening.leaf(side) if side else None
    first, *others = (_cycle(each, this) for each in found.cycles)
    fields = {name: getattr(first, name) for name in MeasuredCycle.model_fields}
    return record.model_copy(update={**fields, "further": tuple(others)})


def _newest(logs: Path, used: Collection[str]) -> Path | None:
    """The regular CSV file changed last; of several the last by name."""
    try:
        files = [
            file
            for file in logs.iterdir()
            if file.suffix.lower() == ".csv"
            and file.name not in used
            and file.is_file()
            and not file.is_symlink()
        ]
        return max(files, key=lambda file: (file.stat().st_mtime_ns, file.name), default=None)
    except OSError:
        return None


def _sha256(file: Path) -> str:
    return sha256_of(file_bytes(file, MOST_OF_LOG))


def _cycle(cycle: CycleMotion, leaf: Leaf | None) -> MeasuredCycle:
    return MeasuredCycle(
        flags=tuple(cycle.flags),
        times=tuple(
            MeasuredTime(
                quantity=each.quantity,
                seconds=_decimal(each.seconds, 2),
                uncertainty_s=_decimal(each.uncertainty_s, 4),
            )
            for each in cycle.times
        ),
        open_angle=_angle(cycle.open_angle),
        backcheck=_angle(cycle.backcheck),
        speeds=_speeds(cycle, leaf),
    )


def _angle(angle: Angle | None) -> MeasuredAngle | None:
    if angle is None:
        return None
    return MeasuredAngle(
        degrees=_decimal(angle.degrees, 1), uncertainty_deg=_decimal(angle.uncertainty_deg, 2)
    )


def _speeds(cycle: CycleMotion, leaf: Leaf | None) -> tuple[MeasuredSpeed, ...]:
    found = []
    for travel, top in (("opening", cycle.opening), ("closing", cycle.closing)):
        if top is None:
            continue
        speed = LargestSpeed(
            deg_s=_decimal(top.speed_deg_s, 2),
            at_deg=_decimal(top.angle_deg, 1),
            share=_decimal(top.relative_uncertainty, 4),
        )
        energy = energy_at(leaf, speed) if leaf is not None else None
        found.append(
            MeasuredSpeed(
                travel="opening" if travel == "opening" else "closing",
                deg_s=speed.deg_s,
                at_deg=speed.at_deg,
                share=speed.share,
                energy_j=_decimal(energy[0], 3) if energy else None,
                energy_uncertainty_j=_decimal(energy[1], 3) if energy else None,
            )
        )
    return tuple(found)


def _decimal(value: float, places: int) -> Decimal:
    return Decimal(f"{value:.{places}f}")
