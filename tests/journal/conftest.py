"""Visit folders that contain a journal."""

from __future__ import annotations

from pathlib import Path

import pytest

from handsfree.journal.head_file import Head, read_head
from handsfree.journal.writer import Journal
from tests.journal.examples import AT, BODIES


def write_visit(folder: Path) -> Path:
    """Writes the example events."""
    with Journal.create(folder) as journal:
        for body in BODIES:
            journal.append(body, AT)
    return folder


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A visit folder with five events."""
    return write_visit(tmp_path / "visit")


@pytest.fixture(scope="session")
def written(tmp_path_factory: pytest.TempPathFactory) -> tuple[bytes, Head]:
    """The bytes of a journal with five events, and its head."""
    folder = write_visit(tmp_path_factory.mktemp("written") / "visit")
    head = read_head(folder)
    assert head is not None
    return (folder / "journal.jsonl").read_bytes(), head
