"""Fixtures shared by several rooms: a conversation, a browser, a visit made once.

With ``-n`` the test files are distributed among the workers (tests/sharing.py).
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path
from typing import Any

import pytest
from hypothesis import settings

from handsfree.checks.limits import load_limits
from handsfree.dialogue.state import State
from handsfree.job.closed_lists import Confirm
from handsfree.job.job import Job
from handsfree.language.interpreter import Language
from handsfree.procedure.loader import parse_procedure
from handsfree.visit_record.progress import Progress

from .browser import chromium
from .reports.storied import storied_visit
from .sharing import (
    made_once,
    pytest_collection_finish,
    pytest_collection_modifyitems,
    pytest_configure,
    pytest_xdist_make_scheduler,
)
from .talk import PROCEDURE, SHEET, Talk

__all__ = [
    "pytest_collection_finish",
    "pytest_collection_modifyitems",
    "pytest_configure",
    "pytest_xdist_make_scheduler",
]

# A busy machine is not a failure: time is measured in tests/bench, never asserted. The examples are
# the same every time; ``pytest --hypothesis-profile search`` looks for new ones.
settings.register_profile("house", deadline=None, derandomize=True)
settings.register_profile("search", deadline=None)
settings.load_profile("house")


@pytest.fixture(scope="session", autouse=True)
def no_settings_of_the_user(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """Isolates the tests from the user's settings and cache on this machine."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("HANDSFREE_SETTINGS", str(tmp_path_factory.mktemp("settings") / "none.toml"))
        patch.setenv("HANDSFREE_CACHE", str(tmp_path_factory.mktemp("cache")))
        patch.delenv("HANDSFREE_MODEL", raising=False)
        patch.setenv("HANDSFREE_SECOND_EAR", "off")
        yield


@pytest.fixture(scope="session")
def language() -> Language:
    return Language.load()


@pytest.fixture(scope="session")
def new_talk(language: Language) -> Callable[..., Talk]:
    """Makes conversations that have begun, at the first step; each value needs an *affirm*."""
    procedure = parse_procedure(PROCEDURE, "small.toml", "0" * 64)
    limits = load_limits("a156.19")

    def make(confirm: Confirm = "every") -> Talk:
        state = State(procedure=procedure, limits=limits, progress=Progress(job=Job.open(SHEET)))
        talk = Talk(state=state, language=language)
        talk.begins(confirm)
        return talk

    return make


@pytest.fixture
def talk(new_talk: Callable[[], Talk]) -> Talk:
    """A conversation that has begun, at the first step."""
    return new_talk()


@pytest.fixture(scope="session")
def browser() -> Iterator[Any]:
    """One browser for all tests, because playwright runs only once per process."""
    with chromium() as running:
        yield running


@pytest.fixture(scope="session")
def waiting(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A visit with something of everything, waiting for its review. Do not change it."""
    return made_once(tmp_path_factory, "waiting", storied_visit)


@pytest.fixture(scope="session")
def reviewed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The same visit, reviewed and signed. Do not change it."""
    return made_once(tmp_path_factory, "reviewed", partial(storied_visit, reviewed=True))
