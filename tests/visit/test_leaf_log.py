"""The newest log in a visit's folder, and unusable logs."""

from __future__ import annotations

import os
import shutil
from decimal import Decimal
from pathlib import Path

import pytest

from handsfree.job.job import Job
from handsfree.job.quantity import Quantity
from handsfree.job.reading import Subject
from handsfree.journal.canonical_json import sha256_of
from handsfree.visit.leaf_log import measure_newest

from ..talk import SHEET

EXAMPLES = Path(__file__).parents[2] / "docs" / "examples"
JOB = Job.open(SHEET)
LEFT = Subject.LEFT_LEAF


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "motion").mkdir()
    return tmp_path


def put(folder: Path, log: str, name: str, age_s: int = 0) -> Path:
    file = folder / "motion" / name
    shutil.copy(EXAMPLES / log, file)
    os.utime(file, (1_000_000 - age_s, 1_000_000 - age_s))
    return file


def test_the_newest_log_that_was_not_used_is_measured(folder):
    put(folder, "hard-ramp-leaf.csv", "a.csv")
    older = put(folder, "even-leaf.csv", "b.csv", age_s=60)
    assert measure_newest(folder, LEFT, JOB, ()).log == "a.csv"
    found = measure_newest(folder, LEFT, JOB, ("a.csv",))
    assert found.log == "b.csv" and found.log_sha256 == sha256_of(older.read_bytes())
    times = {each.quantity: each.seconds for each in found.times}
    # What `handsfree motion docs/examples/even-leaf.csv` says of the same log.
    assert times[Quantity.OPENING_TIME] == Decimal("3.84") and not found.flags
    assert measure_newest(folder, LEFT, JOB, ("a.csv", "b.csv")).log is None


def test_the_energy_is_that_of_the_leaf_as_it_is_known(folder):
    put(folder, "even-leaf.csv", "a.csv")
    opening, closing = measure_newest(folder, LEFT, JOB, ()).speeds
    assert (opening.travel, closing.travel) == ("opening", "closing")
    assert opening.energy_j is not None and opening.energy_uncertainty_j is not None
    without = SHEET.opening.leaves[0].model_copy(update={"weight": None})
    opening_of = SHEET.opening.with_leaf(without)
    unknown = Job.open(SHEET.model_copy(update={"opening": opening_of}))
    assert measure_newest(folder, LEFT, unknown, ()).speeds[0].energy_j is None


@pytest.mark.parametrize("name", ["notes.txt", "leaf.csv.part"])
def test_what_is_no_csv_file_is_no_log(folder, name):
    put(folder, "even-leaf.csv", name)
    assert measure_newest(folder, LEFT, JOB, ()).log is None


def test_neither_a_link_nor_a_missing_folder_is_followed(folder, tmp_path_factory):
    (folder / "motion" / "link.csv").symlink_to(EXAMPLES / "even-leaf.csv")
    (folder / "motion" / "folder.csv").mkdir()
    assert measure_newest(folder, LEFT, JOB, ()).log is None
    assert measure_newest(tmp_path_factory.mktemp("none"), LEFT, JOB, ()).log is None


def test_a_name_that_not_every_system_can_keep_is_refused(folder):
    put(folder, "even-leaf.csv", "puerta ñ.csv")
    assert "rename it" in measure_newest(folder, LEFT, JOB, ()).problem
    assert measure_newest(folder, LEFT, JOB, ()).log is None


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ("time,x\n1,2\n", "no_columns"),
        ("time,x,y,z\n0,0,0,0\n0.01,0,0,0\n", "no_unit"),
        ("time (s),x (rad/s),y (rad/s),z (rad/s)\n0,0,0,0\n0.01,oops,0,0\n", "no_number"),
    ],
)
def test_a_file_that_is_no_log_says_what_is_wrong(folder, text, fault):
    (folder / "motion" / "a.csv").write_text(text, encoding="utf-8")
    found = measure_newest(folder, LEFT, JOB, ())
    assert found.problem and found.fault == fault


def test_every_cycle_of_a_log_is_measured(folder):
    head, *rows = (EXAMPLES / "even-leaf.csv").read_text(encoding="utf-8").splitlines()
    last_s = float(rows[-1].split(",")[0]) + 0.016
    again = [f"{float(row.split(',', 1)[0]) + last_s:.4f},{row.split(',', 1)[1]}" for row in rows]
    (folder / "motion" / "b.csv").write_text("\n".join([head, *rows, *again]), encoding="utf-8")
    found = measure_newest(folder, LEFT, JOB, ())
    assert found.cycles == 2 and not found.problem
    one, other = ({each.quantity: each.seconds for each in c.times} for c in found.measured)
    assert one == {quantity: pytest.approx(s, abs=Decimal("0.02")) for quantity, s in other.items()}


def test_the_open_angle_that_was_said_removes_the_scale_error(folder):
    put(folder, "even-leaf.csv", "a.csv")
    plain = measure_newest(folder, LEFT, JOB, ())
    known = measure_newest(folder, LEFT, JOB, (), Decimal(90))
    assert known.open_angle is not None and known.open_angle.degrees == Decimal("90.0")
    assert known.speeds[0].share < plain.speeds[0].share
    assert (known.known_angle_deg, plain.known_angle_deg) == (Decimal(90), None)
    # The scale takes the phone's own open angle to the one that was said.
    assert plain.open_angle is not None
    assert float(known.scale or 0) == pytest.approx(90 / float(plain.open_angle.degrees), rel=1e-3)
    assert measure_newest(folder, LEFT, JOB, (), Decimal(50)).fault == "other_angle"
