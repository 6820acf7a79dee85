"""Logs of logging apps, identified by their columns, and refused logs."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from handsfree.errors import MotionError
from handsfree.motion.rotation_log import RateUnit, RotationLog, read_rotation_log

RATES = [(0.1 * math.sin(nth / 9), -0.02, 0.5 * math.sin(nth / 40)) for nth in range(400)]


def written(
    folder: Path,
    header: str,
    *,
    per_s: float = 1.0,
    start: float = 0.0,
    separator: str = ",",
    columns: str = "txyz",
    factor: float = 1.0,
    decimal: str = ".",
) -> Path:
    """A log at 100 Hz; ``columns`` orders time, x, y, z, and ``o`` for another sensor."""
    lines = [header]
    for nth, rate in enumerate(RATES):
        cells = {"t": f"{start + nth * per_s / 100:.9g}", "o": "9.81"}
        if per_s >= 1e9:
            cells["t"] = str(int(start) + int(nth * per_s / 100))
        cells |= {axis: f"{value * factor:.6f}" for axis, value in zip("xyz", rate, strict=True)}
        row = separator.join(cells[column] for column in columns)
        lines.append(row.replace(".", decimal) if decimal != "." else row)
    file = folder / "log.csv"
    file.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return file


def same(log: RotationLog) -> None:
    assert log.rate_hz == pytest.approx(100, rel=1e-3)
    assert log.time_s[0] == 0
    np.testing.assert_allclose(log.rates_rad_s, np.array(RATES), atol=1e-5)


@pytest.mark.parametrize(
    ("header", "options"),
    [
        ("Time (s),Gyroscope x (rad/s),Gyroscope y (rad/s),Gyroscope z (rad/s)", {}),
        ('"Time (s)";"X (rad/s)";"Y (rad/s)";"Z (rad/s)"', {"separator": ";", "decimal": ","}),
        ("time,seconds_elapsed,z (rad/s),y (rad/s),x (rad/s)", {"columns": "otzyx"}),
        ("timestamp\twx [rad/s]\twy [rad/s]\twz [rad/s]", {"separator": "\t", "per_s": 1e3}),
        (
            "time (ns),accel x,accel y,accel z,gyro_x rad/s,gyro_y rad/s,gyro_z rad/s",
            {"columns": "toooxyz", "per_s": 1e9, "start": 1.7e18},
        ),
        ("t;gx dps;gy dps;gz dps", {"separator": ";", "factor": 180 / math.pi}),
        (
            "time_us,rot_x (deg/s),rot_y (deg/s),rot_z (deg/s)",
            {"per_s": 1e6, "factor": 180 / math.pi},
        ),
    ],
)
def test_common_layouts_are_read_by_their_columns(
    tmp_path: Path, header: str, options: dict[str, str | float]
) -> None:
    if "gx" in header:
        header = header.replace("gx", "rate_x").replace("gy", "rate_y").replace("gz", "rate_z")
    same(read_rotation_log(written(tmp_path, header, **options)))  # type: ignore[arg-type]


@pytest.mark.parametrize(("unit", "factor"), [("rad/s", 1.0), ("deg/s", 180 / math.pi)])
def test_a_unit_that_no_header_names_is_asked_for(
    tmp_path: Path, unit: RateUnit, factor: float
) -> None:
    file = written(tmp_path, "time,x,y,z", factor=factor)
    with pytest.raises(MotionError, match=r"no unit.*--unit rad/s") as caught:
        read_rotation_log(file)
    assert caught.value.line == 1
    same(read_rotation_log(file, unit))


def test_metadata_lines_before_the_header_are_passed_over(tmp_path: Path) -> None:
    file = written(
        tmp_path, "# phone on the left leaf\n# 100 Hz\ntime (s),x (rad/s),y (rad/s),z (rad/s)"
    )
    same(read_rotation_log(file))


@pytest.mark.parametrize(
    ("content", "message"),
    [
        ("", "no header line"),
        ("1,2,3,4\n5,6,7,8\n", "no header line"),
        ("time,x (rad/s),y (rad/s),speed\n0,0,0,0\n", "no column for: z"),
        ("n,x (rad/s),y (rad/s),z (rad/s)\n0,0,0,0\n", "no column for: time"),
        ("time,x (rad/s),y (rad/s),z (rad/s)\n0,0,0,0\n0.01,0,oops,0\n0.02,0,0,0\n", "'oops'"),
        ("time,x (rad/s),y (rad/s),z (rad/s)\n0,0,0,0\n0.01,0,0\n0.02,0,0,0\n", "no number"),
        ("time,x (rad/s),y (rad/s),z (rad/s)\n0,0,nan,0\n0.01,0,0,0\n", "'nan'"),
        ("time,x (rad/s),y (rad/s),z (rad/s)\n", "no samples"),
    ],
)
def test_bad_logs_are_one_line_with_the_way_out(tmp_path: Path, content: str, message: str) -> None:
    file = tmp_path / "bad.csv"
    file.write_text(content)
    with pytest.raises(MotionError, match=message) as caught:
        read_rotation_log(file)
    assert caught.value.way_out and "\n" not in str(caught.value)


def test_a_bad_line_is_named(tmp_path: Path) -> None:
    file = tmp_path / "bad.csv"
    file.write_text("time,x (rad/s),y (rad/s),z (rad/s)\n0,0,0,0\n\n0.01,0,oops,0\n0.02,0,0,0\n")
    with pytest.raises(MotionError) as caught:
        read_rotation_log(file)
    assert caught.value.line == 4


HEADER = "time (s),x (rad/s),y (rad/s),z (rad/s)"


def rows(folder: Path, table: np.ndarray, header: str = HEADER) -> Path:
    file = folder / "rows.csv"
    file.write_text(header + "\n" + "\n".join(",".join(f"{v:.8g}" for v in row) for row in table))
    return file


def table(seconds: float = 5.0, rate_hz: float = 100.0) -> np.ndarray:
    time_s = np.arange(0, seconds, 1 / rate_hz)
    rate = 0.4 * np.sin(time_s)
    return np.column_stack([time_s, rate, 0 * rate, 0.1 * rate])


def test_slow_sampling_is_refused(tmp_path: Path) -> None:
    with pytest.raises(MotionError, match="100 samples a second"):
        read_rotation_log(rows(tmp_path, table(rate_hz=20)))


def test_time_that_runs_back_is_refused(tmp_path: Path) -> None:
    bad = table()
    bad[200:, 0] -= 1.0
    with pytest.raises(MotionError, match="runs back"):
        read_rotation_log(rows(tmp_path, bad))


def test_clipped_rates_are_refused(tmp_path: Path) -> None:
    bad = table()
    bad[:, 1] = np.clip(bad[:, 1] * 12, -4.36, 4.36)
    with pytest.raises(MotionError, match="clipped at 250 degrees"):
        read_rotation_log(rows(tmp_path, bad))


def test_a_coarse_log_of_an_even_speed_is_not_called_clipped(tmp_path: Path) -> None:
    """Rounded to a hundredth, a leaf at an even speed repeats its largest rate for seconds."""
    coarse = table()
    coarse[100:300, 1] = 0.4
    coarse[:, 1:] = np.round(coarse[:, 1:], 2)
    assert read_rotation_log(rows(tmp_path, coarse)).rates_rad_s.max() == pytest.approx(0.4)


def test_degrees_taken_for_radians_are_noticed(tmp_path: Path) -> None:
    bad = table()
    bad[:, 1] *= 50
    with pytest.raises(MotionError, match="--unit deg/s"):
        read_rotation_log(rows(tmp_path, bad, "time (s),x,y,z"), "rad/s")


def test_radians_taken_for_degrees_are_noticed(tmp_path: Path) -> None:
    with pytest.raises(MotionError, match="--unit rad/s"):
        read_rotation_log(rows(tmp_path, table(), "time (s),x,y,z"), "deg/s")


def test_two_gyroscopes_in_one_file_are_refused(tmp_path: Path) -> None:
    header = "time,gyro a x (rad/s),y,z,gyro b x (rad/s)"
    doubled = np.column_stack([table(), table()[:, 1]])
    with pytest.raises(MotionError, match="more than one column could be x"):
        read_rotation_log(rows(tmp_path, doubled, header))


def test_a_missing_file_and_a_folder_are_told(tmp_path: Path) -> None:
    for file in (tmp_path / "none.csv", tmp_path):
        with pytest.raises(MotionError, match="cannot be read"):
            read_rotation_log(file)


@pytest.mark.slow
@settings(max_examples=60, deadline=None)
@given(st.binary(max_size=400))
def test_no_bytes_end_in_another_error(
    tmp_path_factory: pytest.TempPathFactory, raw: bytes
) -> None:
    file = tmp_path_factory.mktemp("raw") / "raw.csv"
    file.write_bytes(b"time,x (rad/s),y (rad/s),z (rad/s)\n" + raw)
    with pytest.raises(MotionError):
        read_rotation_log(file)
