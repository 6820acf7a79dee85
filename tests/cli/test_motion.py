"""handsfree motion with the demo logs and with unusable logs."""

from __future__ import annotations

import json
from pathlib import Path
from xml.etree import ElementTree

import pytest
from click.testing import CliRunner, Result

from handsfree.cli import main
from handsfree.exit_codes import ExitCode
from tests.motion.demo_log import DRIVES, EXAMPLES, demo_csv

EVEN, HARD = (EXAMPLES / name for name in DRIVES)
LEAF = ("--width", "36in", "--weight", "150lb", "--open-angle", "90")


def run(*words: str | Path) -> Result:
    return CliRunner().invoke(main, ["motion", *map(str, words)])


@pytest.mark.parametrize("name", DRIVES)
def test_the_demo_logs_are_what_their_command_writes(name: str) -> None:
    assert (EXAMPLES / name).read_text(encoding="utf-8") == demo_csv(name)


def test_two_doors_with_the_same_time_differ_in_their_largest_energy() -> None:
    """The reason for measuring: the time passes both, the energy fails one."""
    even, hard = (json.loads(run(file, *LEAF, "--json").stdout) for file in (EVEN, HARD))
    times = [
        next(t["seconds"] for t in out["cycles"][0]["times"] if t["quantity"] == "opening_time")
        for out in (even, hard)
    ]
    assert times[0] == pytest.approx(times[1], abs=0.1)
    energies = [out["largest_energies"][0] for out in (even, hard)]
    assert [each["verdict"] for each in energies] == ["pass", "fail"]
    assert float(energies[1]["energy"]) > 2 * float(energies[0]["energy"])


def test_the_exit_code_is_that_of_the_verdict() -> None:
    assert run(EVEN, *LEAF).exit_code == ExitCode.DONE
    failed = run(HARD, *LEAF)
    assert failed.exit_code == ExitCode.FOUND
    assert "limit 1.25: FAIL" in failed.stdout and "makes no door safe" in failed.stdout


def test_without_width_and_weight_there_is_no_energy() -> None:
    result = run(EVEN)
    assert result.exit_code == ExitCode.DONE
    assert "No energy: the width and the weight of the leaf are not known." in result.stdout
    assert "--open-angle removes that" in result.stdout


def test_a_job_names_the_leaf_its_size_and_the_limits(tmp_path: Path) -> None:
    job = tmp_path / "hall.job.toml"
    job.write_text(Path("docs/examples/harbour-hall.job.toml").read_text())
    two = run(EVEN, "--job", job)
    assert two.exit_code == ExitCode.BAD_INPUT and "--leaf left or right" in two.output
    out = json.loads(run(EVEN, "--job", job, "--leaf", "right", "--json").stdout)
    assert out["leaf"] == "right"
    assert {found["subject"] for found in out["findings"]} == {"right leaf"}


def test_a_spoiled_cycle_is_not_judged(tmp_path: Path) -> None:
    lines = EVEN.read_text().splitlines()
    changed = [lines[0]]
    for line in lines[1:]:
        time_s, x, y, z = map(float, line.split(","))
        extra = 0.3 if 3.0 < time_s < 3.3 else 0.0
        changed.append(f"{time_s},{x + extra},{y - extra},{z + extra}")
    file = tmp_path / "slipped.csv"
    file.write_text("\n".join(changed))
    result = run(file, *LEAF[:4])
    assert "Not judged: the phone slipped on the leaf" in result.stdout
    assert "largest energy" not in result.stdout.split("The largest energy holds")[0]
    assert result.exit_code == ExitCode.BAD_INPUT
    assert "no cycle can be judged" in result.stderr and "the phone slipped" in result.stderr


def test_a_log_that_ends_in_mid_cycle_is_bad_input(tmp_path: Path) -> None:
    """Nothing in it was judged, so it must not look like a door that passes."""
    lines = EVEN.read_text().splitlines()
    file = tmp_path / "half.csv"
    file.write_text("\n".join(lines[: len(lines) // 2]))
    result = run(file, *LEAF[:4])
    assert result.exit_code == ExitCode.BAD_INPUT
    assert "not closed, or the log is disturbed" in result.stderr


def test_rates_that_are_cut_off_low_are_bad_input(tmp_path: Path) -> None:
    lines = EVEN.read_text().splitlines()
    changed = [lines[0]]
    for line in lines[1:]:
        time_s, *rates = map(float, line.split(","))
        cut = ",".join(f"{max(-0.2, min(0.2, rate)):.5f}" for rate in rates)
        changed.append(f"{time_s},{cut}")
    file = tmp_path / "clipped.csv"
    file.write_text("\n".join(changed))
    result = run(file, *LEAF)
    assert result.exit_code == ExitCode.BAD_INPUT
    assert "the rates are clipped at 11 degrees a second" in result.stderr


def test_the_picture_shows_angle_energy_and_limit(tmp_path: Path) -> None:
    svg = tmp_path / "leaf.svg"
    run(HARD, *LEAF, "--svg", svg)
    words = "".join(ElementTree.parse(svg).getroot().itertext())
    assert "limit 1.25 lbf ft" in words and "fully open" in words


@pytest.mark.parametrize(
    ("words", "message"),
    [
        ((EVEN, "--cycles", "2"), "1 cycle found, 2 expected"),
        ((EVEN, "--open-angle", "120"), "by the square"),
        (("none.csv",), "cannot be read"),
        ((EVEN, "--unit", "deg/s"), "--unit rad/s"),
        ((EVEN, "--svg", "/no/such/folder/leaf.svg"), "picture cannot be written"),
        ((EVEN, "--limits", "none"), "none"),
    ],
)
def test_bad_input_is_one_line_and_exit_code_2(words: tuple[str | Path, ...], message: str) -> None:
    result = run(*words)
    assert result.exit_code == ExitCode.BAD_INPUT
    assert message in result.output and "Traceback" not in result.output
