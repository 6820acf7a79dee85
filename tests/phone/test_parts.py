"""The parts of the app are pinned, and a wrong one gives one clear line."""

import shutil
import subprocess

import pytest
from click.testing import CliRunner

from handsfree.cli import main
from handsfree.phone.parts import PINS, fetch_lines, pinned
from handsfree.phone.vosk_worker import NAME

from .app import parts


def run(*arguments: str):
    return CliRunner().invoke(main, ["phone", *arguments])


def test_the_commands_name_every_pinned_package_and_no_host(tmp_path):
    lines = " ".join(fetch_lines(tmp_path))
    for part in pinned():
        assert f"{part.package}@{part.version}" in lines or f"{part.package}==" in lines
    assert "://" not in lines and "://" not in PINS.read_text(encoding="utf-8")


def test_a_missing_part_is_one_clear_line(tmp_path):
    done = run("build", str(tmp_path / "app"), "--parts", str(tmp_path / "none"))
    assert done.exit_code == 2
    assert done.output.count("\n") == 1 and "pyodide.mjs" in done.output
    assert not (tmp_path / "app").exists()


@pytest.mark.slow
def test_the_changed_worker_of_the_recognizer_is_still_a_script(app, tmp_path):
    if shutil.which("node") is None:
        pytest.skip("no node here: apt-get install nodejs")
    script = tmp_path / "worker.mjs"
    script.write_bytes((app / NAME).read_bytes())
    done = subprocess.run(["node", "--check", script], capture_output=True, text=True)
    assert done.returncode == 0, done.stderr


@pytest.mark.slow
def test_a_wrong_part_is_one_clear_line(tmp_path):
    shutil.copytree(parts(), tmp_path / "parts")
    wrong = tmp_path / "parts" / pinned()[-1].file
    wrong.write_bytes(wrong.read_bytes() + b" ")
    done = run("build", str(tmp_path / "app"), "--parts", str(tmp_path / "parts"))
    assert done.exit_code == 2
    assert done.output.count("\n") == 1 and "SHA-256" in done.output


def test_a_folder_with_something_else_is_left_alone(tmp_path):
    (tmp_path / "letter.txt").write_text("mine")
    done = run("build", str(tmp_path), "--parts", str(parts()))
    assert done.exit_code == 2 and (tmp_path / "letter.txt").read_text() == "mine"
