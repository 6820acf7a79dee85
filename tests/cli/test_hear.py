from __future__ import annotations

import json
import shutil
import subprocess
from pathlib import Path

import pytest
from click.testing import CliRunner

from handsfree.cli import main


@pytest.fixture
def reading(tmp_path: Path) -> Path:
    if shutil.which("flite") is None:
        pytest.skip("flite is missing: apt install flite")
    file = tmp_path / "reading.wav"
    text = "left leaf opening time six point two seconds"
    subprocess.run(["flite", "-voice", "rms", "-t", text, "-o", file], check=True)
    return file


def test_a_reading_is_one_json_line(reading: Path) -> None:
    result = CliRunner().invoke(main, ["hear", str(reading), "--json"])
    heard = json.loads(result.stdout)
    assert result.exit_code == 0
    assert list(heard) == ["file", "text", "meaning", "words", "seconds"]
    assert heard["file"] == str(reading)
    assert heard["meaning"] == {
        "kind": "reading",
        "subject": "left leaf",
        "quantity": "opening_time",
        "value": "6.2",
        "unit": "s",
    }
    assert [word["word"] for word in heard["words"]] == heard["text"].split()
    assert 0 <= heard["words"][0]["start"] < heard["words"][-1]["end"] <= heard["seconds"]


def test_a_bad_file_is_named_after_the_good_ones(reading: Path, tmp_path: Path) -> None:
    missing = tmp_path / "none.wav"
    result = CliRunner().invoke(main, ["hear", str(missing), str(reading), "--json"])
    assert result.exit_code == 2
    assert json.loads(result.stdout)["file"] == str(reading)
    assert result.stderr == f"handsfree: {missing}: no such sound file (check the name)\n"


def test_the_table_says_what_was_not_understood(reading: Path, tmp_path: Path) -> None:
    chatter = tmp_path / "chatter.wav"
    text = "the cafeteria downstairs has wonderful pancakes"
    subprocess.run(["flite", "-voice", "rms", "-t", text, "-o", chatter], check=True)
    result = CliRunner().invoke(main, ["hear", str(chatter)], env={"COLUMNS": "200"})
    assert result.exit_code == 0
    assert "[unk]" in result.stdout and "not understood" in result.stdout
