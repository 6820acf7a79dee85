"""A visit folder that contains a journal."""

from __future__ import annotations

from pathlib import Path

import pytest

from ..journal.conftest import write_visit


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A visit folder with five events."""
    return write_visit(tmp_path / "visit")
