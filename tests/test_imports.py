"""Imports point downward, and the core reaches no clock, sound, file or thread."""

from __future__ import annotations

import ast
import shutil
from functools import cache
from pathlib import Path

import pytest

import handsfree

PACKAGE = Path(handsfree.__file__).parent

# Every room and loose module, lowest first, with the other rooms that it may import.
COMMON = {"errors", "toml_source"}
MAY_IMPORT: dict[str, set[str]] = {
    "exit_codes": set(),
    "interrupts": set(),
    "errors": {"exit_codes"},
    "cache_folder": set(),
    "clock": set(),
    "sample_rate": set(),
    "data": {"errors"},
    "toml_source": {"errors"},
    "job": COMMON,
    "second_ear": {"errors", "sample_rate"},
    "settings": COMMON | {"job"},
    "language": COMMON | {"data", "job"},
    "job_file": COMMON | {"job", "language"},
    "checks": COMMON | {"job", "language"},
    "procedure": COMMON | {"job", "language"},
    "diagnosis": COMMON | {"job", "language", "procedure"},
    "controllers": COMMON | {"job", "language", "procedure"},
    "timing": {"job", "checks", "sample_rate"},
    "motion": {"errors", "job", "timing"},
    "journal": COMMON | {"job", "language", "sample_rate"},
    "visit_record": {"errors", "job", "language", "checks", "timing", "journal"},
    "dialogue": {
        "controllers",
        *("job", "language", "checks", "procedure", "diagnosis", "timing", "journal"),
        "visit_record",
    },
    "audio": COMMON | {"job", "sample_rate"},
    "recognition": COMMON | {"job", "language", "timing", "audio", "sample_rate", "settings"},
    "synthesis": {"errors", "job", "audio", "settings"},
    "visit": {
        *("errors", "clock", "sample_rate", "settings", "job", "language", "checks", "procedure"),
        *("timing", "journal", "dialogue", "audio", "recognition", "synthesis", "second_ear"),
        *("visit_record", "motion", "toml_source", "controllers"),
    },
    "reports": {
        *("errors", "sample_rate", "job", "language", "checks", "procedure", "timing", "journal"),
        *("visit_record", "controllers", "settings", "toml_source", "cache_folder"),
    },
    "ledger": {"errors", "job", "journal", "visit_record", "reports"},
    "office": {
        *("errors", "clock", "job", "language", "checks", "procedure", "timing", "journal"),
        *("visit_record", "reports", "second_ear", "cache_folder"),
    },
    "public": {
        *("errors", "toml_source", "job", "language", "job_file", "checks", "journal"),
        *("visit_record", "reports"),
    },
    "phone": {
        *(*COMMON, "clock", "data", "job", "language", "job_file", "checks", "procedure"),
        *("journal", "visit_record", "dialogue", "recognition", "synthesis", "visit", "reports"),
        *("controllers", "timing", "sample_rate"),
    },
    "daily": {
        *("errors", "clock", "job", "language", "job_file", "checks", "procedure", "journal"),
        *("visit_record", "dialogue", "recognition", "visit", "reports", "office", "phone"),
    },
    "training": {"data", "language", "timing", "audio", "recognition", "sample_rate"},
    "rehearsal": {
        *(*COMMON, "sample_rate", "job", "language", "job_file", "checks", "procedure", "timing"),
        *("journal", "visit_record", "recognition", "synthesis", "second_ear", "visit"),
        *("motion", "controllers"),
    },
}
ANYTHING = {"cli", "__main__", "__init__"}

IMPURE = {
    *("time", "datetime", "threading", "subprocess", "socket", "asyncio", "multiprocessing"),
    *("sounddevice", "soundfile", "vosk", "pyttsx3", "numpy", "click", "rich", "os", "sys"),
}
CORE = ("job", "language", "checks", "procedure", "diagnosis", "controllers", "dialogue")
WITHOUT_FILES = {
    "visit_record": (
        *("amendment", "cycles", "event_words", "facts", "office_changes", "open_items"),
        *(
            "progress",
            "reading_story",
            "readings",
            "review_priority",
            "talk",
            "talk_items",
            "visit_record",
        ),
    ),
    "office": (
        *("changes", "change_events", "edit_conflicts", "new_values", "reevaluation"),
        *("review_plan", "sign_off_blockers", "spoken_words"),
    ),
    "rehearsal": ("leaf_body", "drive", "leaf_motion", "door", "simulated_technician"),
}


@cache
def imported(path: Path) -> frozenset[str]:
    """Dotted names that a file imports, at its top or inside a function."""
    names: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}: relative import"
            names.add(node.module or "")
            names |= {f"{node.module}.{alias.name}" for alias in node.names}
    return frozenset(names)


def rooms_of(package: Path) -> set[str]:
    """The folders with Python code, and the loose modules."""
    folders = {path.name for path in package.iterdir() if (path / "__init__.py").is_file()}
    return folders | {path.stem for path in package.glob("*.py")}


def modules(package: Path, room: str) -> list[Path]:
    loose = package / f"{room}.py"
    return [loose] if loose.is_file() else sorted((package / room).rglob("*.py"))


@cache
def own_imports(package: Path, path: Path) -> frozenset[Path]:
    """The files of the package that a file imports."""
    found: set[Path] = set()
    for name in imported(path):
        if name.startswith("handsfree."):
            inside = package.joinpath(*name.split(".")[1:])
            found |= {
                file
                for file in (inside.with_suffix(".py"), inside / "__init__.py")
                if file.is_file()
            }
    return frozenset(found)


def room_of(package: Path, path: Path) -> str:
    return path.relative_to(package).with_suffix("").parts[0]


def upward_imports(package: Path) -> set[str]:
    """Every import of a room that the table does not allow."""
    return {
        f"{path.relative_to(package)} imports {room_of(package, target)}"
        for room, allowed in MAY_IMPORT.items()
        for path in modules(package, room)
        for target in own_imports(package, path)
        if room_of(package, target) not in allowed | {room}
    }


def reached(package: Path, start: Path) -> set[Path]:
    """The files imported by a file, directly or indirectly."""
    seen: set[Path] = set()
    waiting = [start]
    while waiting:
        path = waiting.pop()
        if path not in seen:
            seen.add(path)
            waiting += own_imports(package, path)
    return seen


def impure_imports(package: Path, starts: list[Path]) -> set[str]:
    """Modules with a side effect or a clock that the files reach, directly or indirectly."""
    return {
        f"{start.relative_to(package)} reaches {root} through {path.relative_to(package)}"
        for start in starts
        for path in reached(package, start)
        for root in {name.split(".")[0] for name in imported(path)} & IMPURE
    }


def core(package: Path) -> list[Path]:
    return [path for room in CORE for path in modules(package, room)]


def test_the_table_names_every_room():
    assert set(MAY_IMPORT) | ANYTHING == rooms_of(PACKAGE)


def test_the_table_has_no_circle_and_is_in_its_order():
    below: set[str] = set()
    for room, allowed in MAY_IMPORT.items():
        assert allowed <= below, f"{room} may import what stands above it: {allowed - below}"
        below.add(room)


def test_a_room_imports_only_what_the_table_allows():
    assert not upward_imports(PACKAGE)


def test_the_table_allows_nothing_that_is_not_used():
    for room, allowed in MAY_IMPORT.items():
        used = {
            room_of(PACKAGE, target)
            for path in modules(PACKAGE, room)
            for target in own_imports(PACKAGE, path)
        }
        assert allowed <= used, f"{room} does not import {allowed - used}"


def test_nothing_that_the_core_reaches_has_a_clock_sound_file_or_thread():
    assert not impure_imports(PACKAGE, core(PACKAGE))


def test_the_stopwatch_has_numbers_in_and_out_and_nothing_else():
    for path in modules(PACKAGE, "timing"):
        roots = {name.split(".")[0] for name in imported(path)}
        assert not roots & (IMPURE - {"numpy"}), f"{path} imports {roots & IMPURE}"


@pytest.mark.parametrize(
    ("room", "name"), [(room, name) for room, names in WITHOUT_FILES.items() for name in names]
)
def test_decisions_and_simulations_have_records_in_and_out_and_nothing_else(room, name):
    roots = {each.split(".")[0] for each in imported(PACKAGE / room / f"{name}.py")}
    assert not roots & (IMPURE - {"datetime"} | {"starlette", "sqlite3", "pathlib"})


# Mutations: each breaks one rule in a copy of the package, and the check notices it.


@pytest.fixture
def copy(tmp_path):
    folder = tmp_path / "handsfree"
    shutil.copytree(PACKAGE, folder, ignore=shutil.ignore_patterns("model*", "*.pyc"))
    return folder


def add_line(path: Path, line: str) -> None:
    path.write_text(f"{path.read_text(encoding='utf-8')}\n{line}\n", encoding="utf-8")


def test_an_import_upward_inside_a_function_is_noticed(copy):
    add_line(copy / "job" / "unit.py", "def late():\n    import handsfree.dialogue.state")
    assert upward_imports(copy) == {"job/unit.py imports dialogue"}


def test_a_clock_two_imports_away_from_the_core_is_noticed(copy):
    (copy / "checks" / "helper.py").write_text("import time\n", encoding="utf-8")
    add_line(copy / "checks" / "energy.py", "from handsfree.checks import helper")
    faults = impure_imports(copy, modules(copy, "dialogue"))
    assert any("through checks/helper.py" in fault for fault in faults)


def test_a_room_that_the_table_does_not_name_is_noticed(copy):
    (copy / "attic").mkdir()
    (copy / "attic" / "__init__.py").write_text("", encoding="utf-8")
    assert "attic" in rooms_of(copy) - set(MAY_IMPORT)
