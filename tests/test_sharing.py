"""The distribution of tests never runs two tests that play sound at the same time."""

from __future__ import annotations

import re
from pathlib import Path

from tests.sharing import GROUPS, LONGEST, scope_of

ROOT = Path(__file__).parents[1]


def test_every_file_that_is_named_is_there() -> None:
    for file in (*LONGEST, *(file for files in GROUPS.values() for file in files)):
        assert (ROOT / file).is_file(), file


def test_whatever_starts_a_sound_server_is_in_a_group() -> None:
    plays = re.compile(
        r"^from tests\.air import .*\bRoom\b|bench\.sound_server|^ *\"pulseaudio\"", re.M
    )
    found = {
        file.relative_to(ROOT).as_posix()
        for file in (ROOT / "tests").rglob("test_*.py")
        if plays.search(file.read_text(encoding="utf-8"))
    }
    assert len(found - {"tests/test_sharing.py"}) >= 5
    allowed = {*GROUPS["in real time"], *GROUPS["sound server"]}
    assert found - {"tests/test_sharing.py"} <= allowed


def test_whatever_kills_repeatedly_is_in_one_group() -> None:
    kills = re.compile(r"(kill|signal)_repeatedly")
    found = {
        file.relative_to(ROOT).as_posix()
        for file in (ROOT / "tests").rglob("test_*.py")
        if kills.search(file.read_text(encoding="utf-8"))
    }
    found -= {"tests/test_sharing.py", *GROUPS["sound server"]}
    assert len(found) >= 2
    assert found <= set(GROUPS["killed"])


def test_a_group_and_a_file_go_to_one_worker_as_a_whole() -> None:
    assert scope_of("tests/test_kill.py::test_x[a::b]") == "killed"
    assert scope_of("tests/cli/test_shutdown.py::test_x") == "killed"
    assert scope_of("tests/cli/test_time.py::test_x[a]") == "tests/cli/test_time.py"
