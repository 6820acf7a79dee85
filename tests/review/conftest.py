"""A browser, and visits that are made once."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from ..browser import chromium
from .storied import storied_visit


@pytest.fixture(scope="session")
def browser() -> Iterator[Any]:
    with chromium() as running:
        yield running


@pytest.fixture(scope="session")
def reviewed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A visit with something of everything, reviewed and signed. Change nothing in it."""
    return storied_visit(tmp_path_factory.mktemp("visits") / "reviewed", reviewed=True)


@pytest.fixture(scope="session")
def waiting(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The same visit before anybody has reviewed it. Change nothing in it."""
    return storied_visit(tmp_path_factory.mktemp("visits") / "waiting")
