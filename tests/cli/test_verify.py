import json
from datetime import UTC, datetime
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from handsfree.cli import main
from handsfree.journal.events import CarriedOn, StoodBy
from handsfree.journal.writer import Journal


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    with Journal.create(tmp_path / "visit") as journal:
        for body in (StoodBy(stop=False), CarriedOn()):
            journal.append(body, datetime(2026, 3, 4, tzinfo=UTC))
    return tmp_path / "visit"


def verify(*arguments: str | Path) -> Result:
    return CliRunner().invoke(main, ["verify", *map(str, arguments)])


def test_a_whole_journal_exits_zero_and_prints_its_head(folder: Path) -> None:
    result = verify(folder)
    assert result.exit_code == 0
    assert "whole, 2 lines" in result.output
    assert json.loads((folder / "journal.head").read_text())["sha256"] in result.output


def test_a_changed_byte_exits_one_and_names_the_line(folder: Path) -> None:
    path = folder / "journal.jsonl"
    path.write_bytes(path.read_bytes().replace(b"false", b"falze"))
    result = verify(folder)
    assert result.exit_code == 1
    assert "line 1: the line is not JSON" in result.output


def test_json(folder: Path) -> None:
    found = json.loads(verify(folder, "--json").output)
    assert (found["whole"], found["lines"], found["broken"]) == (True, 2, None)
    (folder / "journal.head").unlink()
    result = verify(folder, "--json")
    assert result.exit_code == 1
    assert json.loads(result.output)["broken"]["line"] == 2


def test_no_journal_exits_two_with_one_line(tmp_path: Path) -> None:
    result = verify(tmp_path / "nowhere")
    assert result.exit_code == 2
    assert result.stderr.count("\n") == 1
    assert "no journal here" in result.stderr


def test_help_shows_an_example() -> None:
    assert "handsfree verify visits/harbour-hall" in verify("--help").output
