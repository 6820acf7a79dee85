"""Reads a log of rotation rates: a CSV file with a time and three axes from a logging app.

Columns are found by the meaning of their names, whatever app wrote them: a time, and x, y and z of
a rotation rate. Units come from the header, and the unit of time from the step between samples.
Anything undecided has to be stated.
"""

from __future__ import annotations

import io
import math
import re
from collections.abc import Sequence
from pathlib import Path
from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray

from handsfree.errors import MotionError

RateUnit = Literal["rad/s", "deg/s"]
LEAST_RATE_HZ, MOST_RATE_HZ = 45.0, 1100.0
"""Lowest and highest usable sampling rates (1/s)."""
MOST_BYTES = 512 * 1024 * 1024
MOST_RATE_RAD_S = 4.0
"""Largest plausible rate of a door leaf (rad/s): 230 degrees per second."""
LEAST_TURN_RAD = math.radians(5)
"""Smallest total turn of a log with a cycle (rad)."""
_CLIPPED_FROM_RAD_S = 2.0
_CLIPPED_SAMPLES = 3
_CLIPPED_LOW_SAMPLES = 10
_COARSE_SHARE = 0.1
"""Share of samples that repeat the one before, from which a log counts as coarsely rounded."""
_HEADER_LINES = 40
_TIME = re.compile(r"^(time|t|timestamp|seconds|sec|elapsed|seconds_elapsed|zeit|tiempo)\b", re.I)
_RATE = re.compile(r"gyro|rotation|rot\b|angular|omega|^w\s*_?[xyz]\b|rate", re.I)
_OTHER = re.compile(r"accel|gravity|magnet|orient|quat|euler|linear|compass|uncalib|bias", re.I)
_UNITS: tuple[tuple[RateUnit, re.Pattern[str]], ...] = (
    ("rad/s", re.compile(r"rad\s*(/|per|p|\s)?\s*s|rps", re.I)),
    ("deg/s", re.compile(r"deg\w*\s*(/|per|p|\s)?\s*s|°\s*/?\s*s|dps", re.I)),
)


class RotationLog(NamedTuple):
    """Rotation rates about the three axes of a phone.

    ``time_s`` has shape (n,), rises strictly and begins at 0. ``rates_rad_s`` has shape (n, 3).
    """

    time_s: NDArray[np.float64]
    rates_rad_s: NDArray[np.float64]

    @property
    def rate_hz(self) -> float:
        """The typical sampling rate (Hz): one over the median step."""
        return 1.0 / float(np.median(np.diff(self.time_s)))


def read_rotation_log(file: Path, unit: RateUnit | None = None) -> RotationLog:
    """Reads the log in a CSV file; ``unit`` is needed if its header names none.

    Raises MotionError, with the file and the way out, for a file that cannot be read, columns that
    are missing, an unknown unit, a line that is not a number, a time that runs backward, a sampling
    rate out of range, rates that are clipped, and rates too high for a door leaf.
    """
    text = _text_of(file)
    lines = text.splitlines()
    at, names, separator = _header(lines, file)
    columns = _columns(names, file)
    found_unit = unit or _unit_of([names[each] for each in columns[1:]]) or _unit_of(names)
    if found_unit is None:
        raise MotionError(
            "no unit is named for the rates of rotation",
            fault="no_unit",
            file=file,
            line=at + 1,
            way_out="say which with --unit rad/s or --unit deg/s",
        )
    table = _table(lines, at, columns, separator, file)
    time_s = _seconds(table[:, 0], names[columns[0]], file)
    rates = table[:, 1:] if found_unit == "rad/s" else np.radians(table[:, 1:])
    rises = np.concatenate(([True], np.diff(time_s) > 0))
    log = RotationLog(time_s[rises], rates[rises])
    _refuse_if_unusable(log, found_unit, file)
    return log


def _text_of(file: Path) -> str:
    try:
        if file.stat().st_size > MOST_BYTES:
            raise MotionError(
                "the log is larger than 512 MB",
                fault="too_large",
                file=file,
                way_out="cut it to one hour",
            )
        return file.read_text(encoding="utf-8-sig", errors="replace")
    except OSError as error:
        raise MotionError(
            "the log cannot be read", file=file, way_out="name a CSV file of a logging app"
        ) from error


def _header(lines: Sequence[str], file: Path) -> tuple[int, list[str], str]:
    """The index of the header line, its names, and the separator of the table."""
    for at, line in enumerate(lines[:_HEADER_LINES]):
        for separator in (";", "\t", ","):
            names = [name.strip().strip('"').strip() for name in line.split(separator)]
            if len(names) >= 4 and sum(bool(re.search(r"[A-Za-z]", name)) for name in names) >= 4:
                return at, names, separator
    raise MotionError(
        "no header line with a time and three axes",
        fault="no_columns",
        file=file,
        way_out="name the columns in the first lines, such as: time (s),x (rad/s),y (rad/s),"
        "z (rad/s)",
    )


def _columns(names: Sequence[str], file: Path) -> list[int]:
    """Finds the columns of time, x, y and z."""
    times = [nth for nth, name in enumerate(names) if _TIME.match(_plain(name))]
    elapsed = [nth for nth in times if re.search(r"elapsed|seconds|\(s\)", names[nth], re.I)]
    axes = {axis: _axis_columns(names, axis) for axis in "xyz"}
    missing = ["time"] if not times else []
    missing += [axis for axis, found in axes.items() if not found]
    if missing:
        raise MotionError(
            f"no column for: {', '.join(missing)}; there are: {', '.join(names)}",
            fault="no_columns",
            file=file,
            way_out="name the columns time, x, y and z, and the rates gyro or rotation where the "
            "file has other sensors too",
        )
    twice = [axis for axis, found in axes.items() if len(found) > 1]
    if twice:
        several = ", ".join(names[nth] for nth in axes[twice[0]])
        raise MotionError(
            f"more than one column could be {twice[0]} of the rotation: {several}",
            fault="no_columns",
            file=file,
            way_out="export the gyroscope alone",
        )
    return [(elapsed or times)[0], *(axes[axis][0] for axis in "xyz")]


def _plain(name: str) -> str:
    return re.sub(r"[\s_\-\[\]().]+", " ", name).strip()


def _axis_columns(names: Sequence[str], axis: str) -> list[int]:
    """Columns that could be an axis: those named after a rotation first, then the others."""
    ends = re.compile(rf"(^|[^a-z])w?{axis}([^a-z]|$)", re.I)
    any_of = [
        nth
        for nth, name in enumerate(names)
        if ends.search(_without_unit(name)) and not _OTHER.search(name)
    ]
    rates = [nth for nth in any_of if _RATE.search(_plain(names[nth])) or _unit_of([names[nth]])]
    return rates or any_of


def _without_unit(name: str) -> str:
    return re.sub(r"[(\[].*?[)\]]", "", name).replace("_", " ")


def _unit_of(names: Sequence[str]) -> RateUnit | None:
    found = {unit for name in names for unit, pattern in _UNITS if pattern.search(name)}
    return found.pop() if len(found) == 1 else None


def _table(
    lines: Sequence[str], at: int, columns: Sequence[int], separator: str, file: Path
) -> NDArray[np.float64]:
    """The four columns as numbers; a decimal comma is accepted if the separator allows it."""
    body = "\n".join(line for line in lines[at + 1 :] if line.strip())
    body = body.replace('"', "")
    if separator != ",":
        body = body.replace(",", ".")
    if body.count("\n") < 1:
        raise MotionError(
            "the log has no samples",
            fault="no_samples",
            file=file,
            way_out="log at least one cycle of the leaf",
        )
    try:
        table: NDArray[np.float64] = np.loadtxt(
            io.StringIO(body), delimiter=separator, usecols=columns, ndmin=2, comments=None
        )
    except ValueError as error:
        nth, what = _first_bad_line(lines, at, columns, separator)
        raise MotionError(
            f"no number where one is expected: {what}",
            fault="no_number",
            file=file,
            line=nth,
            way_out="export the log again, or remove that line",
        ) from error
    if not np.isfinite(table).all():
        nth, what = _first_bad_line(lines, at, columns, separator)
        raise MotionError(
            f"no number where one is expected: {what}",
            fault="no_number",
            file=file,
            line=nth,
            way_out="export the log again, or remove that line",
        )
    return table


def _first_bad_line(
    lines: Sequence[str], at: int, columns: Sequence[int], separator: str
) -> tuple[int, str]:
    for nth, line in enumerate(lines[at + 1 :], start=at + 2):
        if not line.strip():
            continue
        cells = line.replace('"', "").split(separator)
        for column in columns:
            cell = cells[column].strip() if column < len(cells) else ""
            try:
                fine = math.isfinite(float(cell.replace(",", ".")))
            except ValueError:
                fine = False
            if not fine:
                return nth, f"'{cell[:40]}'"
    return at + 2, "the table ends"


def _seconds(raw: NDArray[np.float64], name: str, file: Path) -> NDArray[np.float64]:
    """Time from the start (s); the step between samples distinguishes ms, us and ns from s."""
    step = float(np.median(np.diff(raw)))
    if step <= 0:
        raise MotionError(
            f"the time in column '{name}' does not run forward",
            fault="bad_time",
            file=file,
            way_out="export the log in the order of time",
        )
    for per_s in (1.0, 1e3, 1e6, 1e9):
        if LEAST_RATE_HZ <= per_s / step <= MOST_RATE_HZ:
            seconds: NDArray[np.float64] = (raw - raw[0]) / per_s
            break
    else:
        raise MotionError(
            f"the samples are {step:g} apart, which is not 50 to 500 a second in any unit of time",
            fault="bad_rate",
            file=file,
            way_out="set the logging app to 100 samples a second",
        )
    if float(np.diff(seconds).min()) < -0.5 / MOST_RATE_HZ:
        nth = int(np.argmin(np.diff(seconds))) + 1
        raise MotionError(
            f"the time runs back after {seconds[nth - 1]:.2f} s",
            fault="bad_time",
            file=file,
            way_out="export the log in the order of time",
        )
    return seconds


def _refuse_if_unusable(log: RotationLog, unit: RateUnit, file: Path) -> None:
    largest = np.abs(log.rates_rad_s).max(axis=0)
    top = float(largest.max())
    axis = int(largest.argmax())
    if _clipped(log.rates_rad_s[:, axis], top):
        raise MotionError(
            f"the rates are clipped at {math.degrees(top):.0f} degrees a second",
            fault="clipped",
            file=file,
            way_out="choose a larger range in the logging app, and keep knocks off the phone",
        )
    if float(np.percentile(np.abs(log.rates_rad_s), 99.5)) > MOST_RATE_RAD_S:
        other = "deg/s" if unit == "rad/s" else "rad/s"
        raise MotionError(
            f"{math.degrees(top):.0f} degrees a second is faster than any door leaf",
            fault="too_fast",
            file=file,
            way_out=f"if the rates are in {other}, say --unit {other}",
        )
    spread = log.rates_rad_s - np.median(log.rates_rad_s, axis=0)
    turned = float(np.sum(np.abs(spread[1:]).max(axis=1) * np.diff(log.time_s)))
    if turned < LEAST_TURN_RAD and unit == "deg/s":
        raise MotionError(
            "nothing turns in this log",
            fault="nothing_turns",
            file=file,
            way_out="if the rates are in rad/s, say --unit rad/s; otherwise log a cycle",
        )


def _clipped(rates: NDArray[np.float64], top: float) -> bool:
    """True if the largest rate of an axis, ``top``, is the end of the sensor's range.

    A sensor's own range is far above a door's rates, so a few equal samples there are enough. Below
    it a leaf at an even speed may repeat its largest rate where the log is coarsely rounded; only
    where all other samples differ from their neighbors is a repeated largest rate a limit.
    """
    at_top = np.abs(rates) >= top * (1 - 1e-9)
    longest = _longest_run(at_top)
    if top >= _CLIPPED_FROM_RAD_S:
        return longest >= _CLIPPED_SAMPLES
    below = np.diff(rates[~at_top])
    coarse = len(below) == 0 or float(np.mean(np.abs(below) <= 0.0)) > _COARSE_SHARE
    return top > 0 and not coarse and longest >= _CLIPPED_LOW_SAMPLES


def _longest_run(flags: NDArray[np.bool_]) -> int:
    edges = np.flatnonzero(np.diff(np.concatenate(([0], flags.view(np.int8), [0]))))
    return int((edges[1::2] - edges[::2]).max()) if len(edges) else 0
