"""Distributes the tests among the workers of pytest-xdist, and shares fixtures between them.

Each test file goes to one worker as a whole, so that its fixtures are set up once. Tests that play
and record in real time form a group: no two of its files run at the same time. So do tests that
kill programs repeatedly. The groups begin first, because they take longest on any machine; two of
them mostly wait, so three workers keep two cores busy. The tests of a dying sound server are a
separate group: they use their own server, listen to nothing, and have long waits.
"""

from __future__ import annotations

import gc
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from filelock import FileLock

TESTS = Path(__file__).resolve().parent
GROUPS = {
    "in real time": (
        "tests/test_by_air.py",
        "tests/audio/test_playback.py",
        "tests/cli/test_sound_check.py",
        "tests/recognition/test_live.py",
        "tests/synthesis/test_voice_lost.py",
    ),
    "sound server": ("tests/audio/test_sound_server.py",),
    "killed": (
        "tests/test_kill.py",
        "tests/test_kills.py",
        "tests/cli/test_shutdown.py",
        "tests/journal/test_writer.py",
    ),
}
LONGEST = (
    "tests/cli/test_visit.py",
    "tests/dialogue/test_walks.py",
    "tests/journal/test_elsewhere.py",
    "tests/audio/test_sound_files.py",
    "tests/recognition/test_recognizer.py",
    "tests/cli/test_second_ear.py",
    "tests/office/test_office.py",
    "tests/recognition/test_cycle_listener.py",
    "tests/office/test_desk.py",
    "tests/cli/test_terminal.py",
    "tests/cli/test_time.py",
    "tests/dialogue/test_conversations.py",
    "tests/cli/test_hear.py",
    "tests/rehearsal/test_visits.py",
)
"""The slowest of the other files; files of about a second even out the workers at the end."""
_TURNS = [*(file for files in GROUPS.values() for file in files), *LONGEST]
_GROUP_OF = {file: group for group, files in GROUPS.items() for file in files}


_COLLECT_AFTER_OBJECTS = 50_000
"""New objects after which the interpreter looks for cyclic garbage (700 by default)."""


def pytest_configure(config: pytest.Config) -> None:
    """Starts each worker's collection at another folder, so that each file is compiled once.

    Garbage collection stays off until all tests are found. Modules are not garbage, looking through
    them takes a fifth of the time, and Python 3.11.7 has crashed there.
    """
    gc.disable()
    worker = getattr(config, "workerinput", None)
    if worker and [Path(arg).resolve() for arg in config.args] == [TESTS]:
        parts = sorted(str(path) for path in TESTS.iterdir() if _holds_tests(path))
        first = len(parts) * int(worker["workerid"].removeprefix("gw")) // worker["workercount"]
        config.args = parts[first:] + parts[:first]


def _holds_tests(path: Path) -> bool:
    return path.match("test_*.py") or any(path.rglob("test_*.py"))


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Marks browser tests as slow, and puts a worker's longest tests first."""
    for item in items:
        if "browser" in getattr(item, "fixturenames", ()):
            item.add_marker("slow")
    if hasattr(config, "workerinput"):
        turns = {file: turn for turn, file in enumerate(_TURNS)}
        items.sort(key=lambda item: (turns.get(file := _file(item.nodeid), len(turns)), file))


def pytest_collection_finish() -> None:
    """Turns garbage collection on again, but not for objects that existed before the first test."""
    gc.freeze()
    gc.set_threshold(_COLLECT_AFTER_OBJECTS)
    gc.enable()


def _file(nodeid: str) -> str:
    return nodeid.partition("::")[0]


def scope_of(nodeid: str) -> str:
    """Returns the unit in which a test is assigned to a worker: its group, or its file."""
    return _GROUP_OF.get(_file(nodeid), _file(nodeid))


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config: pytest.Config, log: Any) -> Any:
    """Distributes tests by ``scope_of``, in the order of the tests, whatever ``--dist`` says."""
    from xdist.scheduler import LoadScopeScheduling

    class ByScope(LoadScopeScheduling):
        def _split_scope(self, nodeid: str) -> str:
            return scope_of(nodeid)

    config.option.loadscopereorder = False
    return ByScope(config, log)


def made_once(factory: pytest.TempPathFactory, name: str, make: Callable[[Path], object]) -> Path:
    """Returns a folder that ``make`` fills once for all workers; do not change it."""
    folder = factory.getbasetemp()
    if folder.name.startswith("popen-"):  # a worker's own; all of them lie beside each other
        folder = folder.parent
    whole = folder / "made-once" / name
    whole.parent.mkdir(exist_ok=True)
    with FileLock(f"{whole}.lock"):
        if not whole.exists():
            shutil.rmtree(half := whole.with_name(f"{name}.half"), ignore_errors=True)
            make(half)
            half.rename(whole)
    return whole
