from collections.abc import Callable
from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from handsfree.journal.hash_chain import scan
from handsfree.journal.head_file import Head, read_head
from handsfree.journal.writer import Journal
from tests.journal.examples import BODIES


def is_whole(content: bytes, head: Head | None) -> bool:
    found = scan(content, head)
    return found.broken is None and not found.torn


def test_a_journal_is_whole_with_its_head(written: tuple[bytes, Head]) -> None:
    content, head = written
    found = scan(content, head)
    assert found.broken is None
    assert [event.body for event in found.events] == list(BODIES)
    assert found.head == head


@given(data=st.data())
def test_any_changed_byte_is_found(written: tuple[bytes, Head], data: st.DataObject) -> None:
    content, head = written
    at = data.draw(st.integers(0, len(content) - 1))
    byte = data.draw(st.integers(0, 255).filter(lambda b: b != content[at]))
    assert not is_whole(content[:at] + bytes([byte]) + content[at + 1 :], head)


@given(data=st.data())
def test_any_byte_lost_or_added_is_found(written: tuple[bytes, Head], data: st.DataObject) -> None:
    content, head = written
    at = data.draw(st.integers(0, len(content) - 1))
    assert not is_whole(content[:at] + content[at + 1 :], head)
    added = bytes([data.draw(st.integers(0, 255))])
    assert not is_whole(content[:at] + added + content[at:], head)


def test_every_byte_of_the_last_line_is_guarded(written: tuple[bytes, Head]) -> None:
    content, head = written
    last = content[:-1].rfind(b"\n") + 1
    for at in range(last, len(content)):
        assert not is_whole(content[:at] + bytes([content[at] ^ 1]) + content[at + 1 :], head)


def edited(content: bytes, number: int, change: Callable[[bytes], bytes]) -> bytes:
    lines = content.splitlines(keepends=True)
    lines[number - 1] = change(lines[number - 1])
    return b"".join(lines)


@pytest.mark.parametrize(
    ("number", "change", "line", "reason"),
    [
        (4, lambda line: line.replace(b'"6.20"', b'"6.30"'), 4, "written after different bytes"),
        (5, lambda line: line.replace(b'"left"', b'"right"'), 5, "not the one that journal.head"),
        (
            3,
            lambda line: line.replace(b'"kind":"said"', b'"kind":"sang"'),
            3,
            "kind of event 'sang'",
        ),
        (3, lambda line: b"{" + line, 3, "not JSON"),
        (3, lambda line: b"\xff" + line, 3, "not UTF-8"),
        (3, lambda line: line.replace(b'"aloud":true,', b""), 3, "aloud: field required"),
        (2, lambda line: b"", 2, "numbered 3, not 2"),
        (5, lambda line: b"", 5, "records 5 lines, but only 4"),
        (5, lambda line: line[:-1].replace(b'"', b"'") + b"\n", 5, "not JSON"),
        (4, lambda line: line[:-1], 4, "not JSON"),
    ],
)
def test_a_break_names_its_line(
    written: tuple[bytes, Head],
    number: int,
    change: Callable[[bytes], bytes],
    line: int,
    reason: str,
) -> None:
    content, head = written
    changed = edited(content, number, change)
    assert changed != content
    found = scan(changed, head)
    assert found.broken is not None
    assert found.broken.line == line
    assert reason in found.broken.reason
    assert len(found.events) == line - 1


def test_a_changed_link_blames_the_line_that_holds_it(written: tuple[bytes, Head]) -> None:
    content, head = written
    prev = content.splitlines()[3].split(b'"prev":"')[1][:64]
    found = scan(content.replace(prev, b"f" * 64), head)
    assert found.broken is not None
    assert found.broken.line == 4
    assert "does not name the hash" in found.broken.reason


def test_a_head_one_line_behind_is_a_crash_and_no_break(written: tuple[bytes, Head]) -> None:
    content, _ = written
    behind = scan(b"".join(content.splitlines(keepends=True)[:4]), None).head
    assert is_whole(content, behind)


def test_a_missing_head_is_a_break(written: tuple[bytes, Head]) -> None:
    content, _ = written
    assert not is_whole(content, None)


def test_a_head_behind_by_the_lines_of_one_write_is_a_crash_and_no_break(tmp_path) -> None:
    """They bear one time; the head of the write before is what a kill in between leaves."""
    with Journal.create(tmp_path) as journal:
        journal.append(BODIES[0], datetime(2100, 1, 1, tzinfo=UTC))
        before = read_head(tmp_path)
        journal.append_all(BODIES[1:4], datetime(2100, 1, 2, tzinfo=UTC))
        journal.append(BODIES[4], datetime(2100, 1, 3, tzinfo=UTC))
    lines = (tmp_path / "journal.jsonl").read_bytes().splitlines(keepends=True)
    assert is_whole(b"".join(lines[:4]), before)
    added = scan(b"".join(lines), before).broken
    assert added is not None
    assert (added.line, added.meaning) == (2, "lines were added from outside")
