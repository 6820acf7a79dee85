"""Foreign journals with valid hashes: hostile ones, and those of a later version."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from handsfree.cli import main
from handsfree.errors import JournalError
from handsfree.journal.hash_chain import NEWER, UNKNOWN
from handsfree.journal.reader import JOURNAL, read, verify
from tests.bench.tampering import lines, tamper, write


def at(kind: str, **wanted: str) -> int:
    """Index of the first event of a kind, from 0."""
    return next(
        n
        for n, line in enumerate(lines())
        if line["body"]["kind"] == kind
        and all(line["body"].get("fact", {}).get(key) == value for key, value in wanted.items())
    )


def journal(folder: Path, nth: int, **body: Any) -> Path:
    """The example visit with other values in one event."""
    events = lines()
    events[nth]["body"] |= body
    write(folder, events)
    return folder


def test_the_example_itself_is_whole(tmp_path: Path) -> None:
    write(tmp_path / "visit", lines())
    assert verify(tmp_path / "visit").whole


def test_a_lock_of_no_known_kind_is_a_break_with_its_line(tmp_path: Path) -> None:
    nth = at("fact_accepted", name="lock")
    fact = {**lines()[nth]["body"]["fact"], "value": "zip tie"}
    folder = journal(tmp_path / "visit", nth, fact=fact)
    broken = verify(folder).broken
    assert broken is not None and broken.line == nth + 1
    assert "the lock of the opening must be one of none, latch, strike" in broken.reason
    assert broken.meaning == UNKNOWN
    for command in ("summary", "report", "record", "export", "pack", "check"):
        done = CliRunner().invoke(main, [command, str(folder)])
        assert isinstance(done.exception, SystemExit), (command, done.exception)
        assert done.exit_code in (1, 2)
        assert f"line {nth + 1}" in done.output


@pytest.mark.parametrize(
    "meaning",
    [
        {"kind": "readings", "readings": [7]},
        {"kind": "reading", "value": {"no": "number"}},
        {"value": "left"},
        {"kind": ["affirm"]},
    ],
)
def test_a_meaning_of_another_shape_is_a_break_with_its_line(
    tmp_path: Path, meaning: dict[str, Any]
) -> None:
    nth = at("heard")
    folder = journal(tmp_path / "visit", nth, meaning=meaning)
    broken = verify(folder).broken
    assert broken is not None and broken.line == nth + 1


@pytest.mark.parametrize(
    "body",
    [
        {"kind": "door_photographed", "file": "door.jpg"},
        {"from_a_newer_version": 1},
        {"meaning": {"kind": "sing"}},
        {"meaning": {"kind": "affirm", "twice": True}},
    ],
)
def test_what_a_later_version_wrote_is_told_as_that(tmp_path: Path, body: dict[str, Any]) -> None:
    nth = at("heard")
    folder = journal(tmp_path / "visit", nth, **body)
    broken = verify(folder).broken
    assert broken is not None and (broken.line, broken.meaning) == (nth + 1, NEWER)
    with pytest.raises(JournalError, match="a newer handsfree wrote it") as told:
        read(folder)
    assert "update handsfree" in str(told.value)


@pytest.mark.parametrize(
    ("body", "reason"),
    [
        ({"kind": "door_photographed"}, "unknown kind of event 'door_photographed'"),
        ({"from_later": 1}, "unknown field body.heard.from_later"),
        ({"meaning": {"kind": "sing"}}, "unknown kind of meaning 'sing'"),
    ],
)
def test_what_is_unknown_is_named_with_its_place(
    tmp_path: Path, body: dict[str, Any], reason: str
) -> None:
    folder = journal(tmp_path / "visit", at("heard"), **body)
    broken = verify(folder).broken
    assert broken is not None and broken.reason == reason


def test_no_command_calls_a_later_versions_journal_broken(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    folder = journal(tmp_path / "visit", at("heard"), kind="door_photographed")
    ledger = f"sqlite:///{tmp_path / 'l.db'}"
    for words in (
        *([command, str(folder)] for command in ("summary", "report", "record", "export", "pack")),
        ["ledger", "add", "--url", ledger, str(folder)],
    ):
        done = CliRunner().invoke(main, words)
        assert done.exit_code in (1, 2) and isinstance(done.exception, SystemExit)
        assert "newer handsfree" in done.output, words
        assert "is broken" not in done.output, words
    page = (folder / "report.html").read_text(encoding="utf-8")
    assert "The journal was written by a newer handsfree, from line" in page


@pytest.mark.parametrize(
    ("value", "reason"),
    [
        ("9" * 5000, "a number here is beyond reason"),
        ("[" * 5000 + "]" * 5000, "the line is nested beyond reason"),
        ("[" * 5000, "the line is nested beyond reason"),
        ("{", "the line is not JSON"),
    ],
    ids=["digits", "brackets", "open brackets", "not JSON"],
)
def test_a_line_that_no_machine_can_read_is_told_in_our_own_words(
    tmp_path: Path, value: str, reason: str
) -> None:
    folder = journal(tmp_path / "visit", nth := at("heard"), text="HERE")
    content = (folder / JOURNAL).read_bytes().replace(b'"HERE"', value.encode())
    (folder / JOURNAL).write_bytes(content)
    broken = verify(folder).broken
    assert broken is not None and (broken.line, broken.reason) == (nth + 1, reason)


def test_the_same_with_a_chain_that_is_not_whole_is_told_as_tampering(tmp_path: Path) -> None:
    nth = at("heard")
    folder = journal(tmp_path / "visit", nth, kind="door_photographed")
    content = (folder / JOURNAL).read_bytes()
    (folder / JOURNAL).write_bytes(content.replace(b'"aloud":false', b'"aloud":true ', 1))
    broken = verify(folder).broken
    assert broken is not None
    assert "changed" in broken.meaning and "newer" not in broken.meaning


def test_a_reason_is_one_short_line_that_a_terminal_can_show(tmp_path: Path) -> None:
    folder = journal(tmp_path / "visit", at("heard"), kind="\x1b]0;owned\x07\n" + "x" * 5000)
    broken = verify(folder).broken
    assert broken is not None
    assert broken.reason.isprintable() and len(broken.reason) < 300


def test_one_bad_visit_in_a_folder_is_named_and_the_others_go_in(tmp_path: Path) -> None:
    visits = tmp_path / "visits"
    for name in ("a", "c"):
        write(visits / name, lines())
    nth = at("fact_accepted", name="lock")
    journal(visits / "b", nth, fact={**lines()[nth]["body"]["fact"], "value": "zip tie"})
    events = lines()
    events[0]["body"]["sheet"]["reference"] = "another"
    write(visits / "c", events)
    done = CliRunner().invoke(
        main, ["ledger", "add", "--url", f"sqlite:///{tmp_path / 'l.db'}", str(visits)]
    )
    assert f"line {nth + 1}" in done.output, done.output
    assert done.output.count("added") >= 2, done.output
    assert done.exit_code == 1


def test_a_visit_that_nothing_foresaw_stops_no_folder(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fails(*parts: object) -> None:
        raise AttributeError("nobody foresaw it")

    from handsfree.ledger import read_visits as taking

    write(tmp_path / "visit", lines())
    monkeypatch.setattr(taking, "record_of", fails)
    came = taking.read_visit(tmp_path / "visit")
    assert isinstance(came, taking.AddResult)
    assert (came.came, came.why) == ("broken", "it cannot be read: AttributeError")


@pytest.mark.slow
def test_no_value_anywhere_ends_in_a_traceback(tmp_path: Path) -> None:
    count, crashes = tamper(tmp_path / "visit", share=67)
    assert count["changed journals"] > 200
    assert crashes == []
