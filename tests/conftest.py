"""A conversation to talk to, for every test that wants one."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import pytest
from hypothesis import settings

from handsfree.checks.limits import load_limits
from handsfree.dialogue.progress import Progress
from handsfree.dialogue.state import State
from handsfree.grammar.language import Language
from handsfree.job.job import Job
from handsfree.procedure.load import parse_procedure

from .talk import PROCEDURE, SHEET, Talk

# A busy machine is no failure: time is measured in tests/bench, never asserted.
settings.register_profile("house", deadline=None)
settings.load_profile("house")


@pytest.fixture(scope="session", autouse=True)
def no_settings_of_the_user(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """What somebody chose on this machine changes no test."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("HANDSFREE_SETTINGS", str(tmp_path_factory.mktemp("settings") / "none.toml"))
        patch.delenv("HANDSFREE_MODEL", raising=False)
        yield


@pytest.fixture(scope="session")
def language() -> Language:
    return Language.load()


@pytest.fixture(scope="session")
def new_talk(language: Language) -> Callable[[], Talk]:
    """Makes conversations that have begun, at the first step."""
    procedure = parse_procedure(PROCEDURE, "small.toml", "0" * 64)
    limits = load_limits("a156.19")

    def make() -> Talk:
        state = State(procedure=procedure, limits=limits, progress=Progress(job=Job.open(SHEET)))
        talk = Talk(state=state, language=language)
        talk.begins()
        return talk

    return make


@pytest.fixture
def talk(new_talk: Callable[[], Talk]) -> Talk:
    """A conversation that has begun, at the first step."""
    return new_talk()
