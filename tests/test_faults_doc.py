"""Every test and command named in docs/faults.md exists."""

from __future__ import annotations

import ast
import importlib.util
import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
PAGE = (ROOT / "docs" / "faults.md").read_text(encoding="utf-8")


def names_in(file: Path) -> set[str]:
    tree = ast.parse(file.read_text(encoding="utf-8"))
    return {node.name for node in ast.walk(tree) if isinstance(node, ast.FunctionDef)}


@pytest.mark.slow
def test_every_test_that_is_named_is_there() -> None:
    named = re.findall(r"`(tests/[\w/]+\.py)::(test_\w+)`", PAGE)
    assert len(named) > 40
    for file, name in named:
        assert name in names_in(ROOT / file), f"{file}::{name}"


def test_every_fault_names_its_test() -> None:
    """A row without a test is an empty promise."""
    for line in PAGE.partition("## Counted")[0].splitlines():
        if line.startswith("| ") and not line.startswith(("| fault", "| ---")):
            assert "::test_" in line, line


def test_every_command_that_counts_is_there() -> None:
    for module in re.findall(r"python -m (tests\.bench\.\w+)", PAGE):
        assert importlib.util.find_spec(module) is not None, module
