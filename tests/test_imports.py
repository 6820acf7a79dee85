"""Imports point downwards, and the pure parts reach for no clock, sound, file or thread."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

import handsfree

PACKAGE = Path(handsfree.__file__).parent
# What each part of the house may import besides itself.
COMMON = {"errors", "data", "toml_source", "wording"}
MAY_IMPORT = {
    "job": {"errors", "toml_source", "wording"},
    "checks": COMMON | {"job"},
    "grammar": COMMON | {"job"},
    "procedure": COMMON | {"job"},
    "dialogue": COMMON | {"job", "checks", "grammar", "procedure", "journal", "timing"},
    "journal": {"errors", "job", "grammar", "toml_source"},
    "speech": COMMON | {"job", "grammar", "settings", "timing"},
    "second_ear": {"errors"},
    "review": COMMON | {"job", "checks", "procedure", "journal", "timing", "timed_run"},
    "ledger": {"errors", "job", "journal", "review"},
    "office": {"errors", "clock", "job", "checks", "procedure", "journal", "timing", "review"},
    "timing": {"job", "checks"},
    "training": COMMON | {"job", "grammar", "speech", "timing"},
}
IMPURE = {
    *("time", "datetime", "threading", "subprocess", "socket", "asyncio", "multiprocessing"),
    *("sounddevice", "soundfile", "vosk", "pyttsx3", "numpy", "click", "rich", "os", "sys"),
}
PURE = ("job", "checks", "grammar", "procedure", "dialogue")


def modules(part: str) -> list[Path]:
    return sorted((PACKAGE / part).rglob("*.py"))


def imported(path: Path) -> set[str]:
    names: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}: relative import"
            names.add(node.module or "")
            names |= {f"{node.module}.{alias.name}" for alias in node.names}
    return names


def parts_imported(path: Path) -> set[str]:
    own = [name.split(".") for name in imported(path) if name.startswith("handsfree.")]
    known = {p.stem for p in PACKAGE.iterdir()}
    return {name[1] for name in own if name[1] in known}


@pytest.mark.parametrize("part", MAY_IMPORT)
def test_a_part_imports_only_what_lies_below_it(part):
    for path in modules(part):
        extra = parts_imported(path) - MAY_IMPORT[part] - {part}
        assert not extra, f"{path} imports {extra}"


@pytest.mark.parametrize("part", PURE)
def test_the_core_has_no_clock_sound_file_or_thread(part):
    for path in modules(part):
        roots = {name.split(".")[0] for name in imported(path)}
        assert not roots & IMPURE, f"{path} imports {roots & IMPURE}"


def test_the_stopwatch_has_numbers_in_and_out_and_nothing_else():
    for path in modules("timing"):
        roots = {name.split(".")[0] for name in imported(path)}
        assert not roots & (IMPURE - {"numpy"}), f"{path} imports {roots & IMPURE}"


def test_only_the_command_line_imports_the_command_line():
    for path in PACKAGE.rglob("*.py"):
        if "cli" not in path.parts and path.name != "__main__.py":
            assert "cli" not in parts_imported(path), f"{path} imports the command line"


def test_only_the_command_line_imports_the_rehearsal():
    for path in PACKAGE.rglob("*.py"):
        if not {"rehearsal", "cli"} & set(path.relative_to(PACKAGE).parts):
            assert "rehearsal" not in parts_imported(path), f"{path} imports the rehearsal"


@pytest.mark.parametrize(
    "name",
    ["amend", "change", "judge_anew", "moved_on", "undecided", "visit_row"],
)
def test_what_the_office_decides_with_has_records_in_and_out_and_nothing_else(name):
    roots = {each.split(".")[0] for each in imported(PACKAGE / "review" / f"{name}.py")}
    assert not roots & (IMPURE - {"datetime"} | {"starlette", "sqlite3", "pathlib"})


@pytest.mark.parametrize("name", ["leaf", "drive", "motion", "door", "mind", "technician"])
def test_the_rehearsed_door_and_technician_have_numbers_and_words_only(name):
    roots = {each.split(".")[0] for each in imported(PACKAGE / "rehearsal" / f"{name}.py")}
    assert not roots & IMPURE


def test_only_the_training_imports_the_training():
    for path in PACKAGE.rglob("*.py"):
        if "training" not in path.relative_to(PACKAGE).parts:
            assert "training" not in parts_imported(path), f"{path} imports the training"
