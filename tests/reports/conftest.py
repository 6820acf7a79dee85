"""A visit that is made once."""

from __future__ import annotations

from pathlib import Path

import pytest

from .storied import storied_visit


@pytest.fixture(scope="session")
def reviewed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A visit with something of everything, reviewed and signed. Change nothing in it."""
    return storied_visit(tmp_path_factory.mktemp("visits") / "reviewed", reviewed=True)
