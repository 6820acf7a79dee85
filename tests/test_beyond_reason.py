"""Files that cannot be read: one clear line, and never exit code 1."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from click.testing import CliRunner

from handsfree.checks.limits import load_limits
from handsfree.cli import main
from handsfree.errors import HandsfreeError, JournalError, LimitsError
from handsfree.journal.durable_files import replace_file
from handsfree.journal.reader import JOURNAL, read, verify
from handsfree.journal.writer import Journal
from handsfree.toml_source import TomlSource, file_bytes
from tests.bench.tampering import lines, write

JOB = (Path(__file__).parents[1] / "docs" / "examples" / "harbour-hall.job.toml").read_text()
BEYOND = {
    "exponent": "x = 1E+999999\n",
    "digits": f"x = {'9' * 5000}\n",
    "fraction": f"x = 0.{'9' * 5000}\n",
    "nested": f"x = {'[' * 5000}{']' * 5000}\n",
}
READ_BY = {
    "job": ["check", "--job", "FILE", "--opening", "left:4.2"],
    "limits": ["check", "--limits", "FILE", "--width", "36in", "--weight", "150lb"],
    "procedure": ["procedures", "check", "FILE"],
    "controller": ["controllers", "check", "FILE"],
    "door": ["rehearse", "--door", "FILE"],
}


@pytest.mark.parametrize("text", BEYOND.values(), ids=BEYOND)
@pytest.mark.parametrize("words", READ_BY.values(), ids=READ_BY)
def test_a_number_beyond_reason_is_one_line_and_exit_2(
    tmp_path: Path, words: list[str], text: str
) -> None:
    file = tmp_path / "a.toml"
    file.write_text(text + JOB)
    if words[1] == "--limits":
        words = [*words, "--opening", "4.2"]
    done = CliRunner().invoke(main, [str(file) if word == "FILE" else word for word in words])
    assert done.exit_code == 2, (done.output, done.exception)
    assert isinstance(done.exception, SystemExit)
    assert "line 1: " in done.output
    assert len(done.output) < 500


def test_the_line_of_a_number_beyond_reason_is_found() -> None:
    with pytest.raises(HandsfreeError, match="too many digits") as told:
        TomlSource("a = 1\nb = 2.5\n\nc = 3E-500\n", "a.toml", HandsfreeError)
    assert told.value.line == 4


@pytest.mark.parametrize("words", list(READ_BY.values())[:1])
def test_a_mark_at_the_start_of_a_text_is_read_past(tmp_path: Path, words: list[str]) -> None:
    """Editors on Windows write one (source: the Unicode standard, byte order mark; memory)."""
    results = []
    for mark in ("", "\ufeff"):
        file = tmp_path / "a.toml"
        file.write_text(mark + JOB, encoding="utf-8")
        results.append(CliRunner().invoke(main, [str(file) if w == "FILE" else w for w in words]))
    assert results[0].output == results[1].output and results[0].exit_code == results[1].exit_code


def test_a_mark_moves_no_line() -> None:
    with pytest.raises(HandsfreeError) as told:
        TomlSource("\ufeffa = 1\nb = \n", "a.toml", HandsfreeError)
    assert told.value.line == 2


def test_only_regular_files_of_bounded_size_are_read(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")
    (tmp_path / "large").write_bytes(b"x" * 11)
    for path in (tmp_path / "pipe", Path("/dev/zero"), tmp_path, tmp_path / "large"):
        with pytest.raises(OSError, match=r"regular|larger"):
            file_bytes(path, 10)
    assert file_bytes(tmp_path / "large", 11) == b"x" * 11


@pytest.mark.parametrize("words", READ_BY.values(), ids=READ_BY)
def test_a_pipe_or_a_device_is_one_line(tmp_path: Path, words: list[str]) -> None:
    os.mkfifo(tmp_path / "pipe")
    for file in (tmp_path / "pipe", Path("/dev/zero")):
        done = CliRunner().invoke(main, [str(file) if word == "FILE" else word for word in words])
        assert done.exit_code == 2 and isinstance(done.exception, SystemExit)


def test_a_journal_or_a_clip_that_is_a_pipe_hangs_nothing(tmp_path: Path) -> None:
    folder = tmp_path / "visit"
    write(folder, lines())
    (folder / "clips" / "000005.flac").unlink()
    os.mkfifo(folder / "clips" / "000005.flac")
    broken = verify(folder).broken
    assert broken is not None and "is missing" in broken.reason
    (folder / JOURNAL).unlink()
    os.mkfifo(folder / JOURNAL)
    with pytest.raises(JournalError, match="regular"):
        read(folder)


@pytest.mark.parametrize("value", ["1E+999999", "9" * 5000, "[" * 5000])
def test_a_journal_with_such_a_number_is_a_break_with_its_line(tmp_path: Path, value: str) -> None:
    folder = tmp_path / "visit"
    write(folder, lines())
    content = (folder / JOURNAL).read_bytes().replace(b'"6.20"', value.encode(), 1)
    (folder / JOURNAL).write_bytes(content)
    with pytest.raises(JournalError) as told:
        read(folder)
    assert told.value.line is not None and len(str(told.value)) < 600


@pytest.mark.parametrize("kind", ["pipe", "device"])
def test_a_pack_that_is_a_pipe_or_a_device_is_one_line(tmp_path: Path, kind: str) -> None:
    os.mkfifo(tmp_path / "pipe")
    file = tmp_path / "pipe" if kind == "pipe" else Path("/dev/zero")
    done = CliRunner().invoke(main, ["unpack", str(file), "--into", str(tmp_path)])
    assert done.exit_code == 2 and "is not a regular file" in done.output


def test_a_visit_is_not_begun_where_the_journal_is_a_pipe(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / JOURNAL)
    with pytest.raises(JournalError, match="regular"):
        Journal.create(tmp_path)


def test_nothing_is_written_through_a_link_or_into_a_pipe_of_a_folder(tmp_path: Path) -> None:
    mine = tmp_path / "mine"
    mine.write_text("precious")
    for name in ("a.txt", "b.txt.tmp"):
        (tmp_path / name).symlink_to(mine)
    os.mkfifo(tmp_path / "c.txt")
    os.mkfifo(tmp_path / "d.txt.tmp")
    for name in ("a.txt", "b.txt", "c.txt", "d.txt"):
        replace_file(tmp_path / name, b"new")
        assert (tmp_path / name).read_bytes() == b"new" and not (tmp_path / name).is_symlink()
    assert mine.read_text() == "precious"


def test_a_limit_set_with_a_name_of_any_length_is_one_line() -> None:
    with pytest.raises(LimitsError) as told:
        load_limits("9" * 5000)
    assert len(str(told.value)) < 500
