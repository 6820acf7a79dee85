"""Visits for the office, made once and copied, and an office that serves them."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from .house import DESKS, Desk, office_at


@pytest.fixture(autouse=True)
def _desks_closed() -> Iterator[None]:
    yield
    while DESKS:
        DESKS.pop().web.close()


@pytest.fixture
def visits(waiting: Path, tmp_path: Path) -> Path:
    """A folder with a visit that waits for its review."""
    shutil.copytree(waiting, tmp_path / "visits" / "harbour")
    return tmp_path / "visits"


@pytest.fixture
def house(visits: Path) -> Iterator[str]:
    with office_at(visits) as (address, _):
        yield address


@pytest.fixture
def desk(house: str) -> Desk:
    """A person who has entered a name."""
    return Desk(house)
