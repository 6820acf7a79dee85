"""Visits for the office, made once and copied, and the office over them."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from ..browser import chromium
from ..review.storied import storied_visit
from .house import DESKS, Desk, office_at


@pytest.fixture(scope="session")
def browser() -> Iterator[Any]:
    with chromium() as running:
        yield running


@pytest.fixture(scope="session")
def visit_made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A visit that waits for its review. Change nothing in it."""
    return storied_visit(tmp_path_factory.mktemp("made") / "visit")


@pytest.fixture
def visits(visit_made: Path, tmp_path: Path) -> Path:
    """A folder with that visit in it."""
    shutil.copytree(visit_made, tmp_path / "visits" / "harbour")
    return tmp_path / "visits"


@pytest.fixture(autouse=True)
def _desks_closed() -> Iterator[None]:
    yield
    while DESKS:
        DESKS.pop().web.close()


@pytest.fixture
def house(visits: Path) -> Iterator[str]:
    with office_at(visits) as (address, _):
        yield address


@pytest.fixture
def desk(house: str) -> Desk:
    """Somebody who has told their name."""
    return Desk(house)
