"""Checks docs/platforms.md: does every platform and Python version find its wheels?

    python .ci/platforms.py

Resolves the package's requirements for each cell of the page's first table, wheels only, with
uv from the package index, four at a time. A 'no' must name the package that has no wheel, and
must still be true. Exits with 1 when a cell is wrong.
"""

from __future__ import annotations

import re
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import NamedTuple

ROOT = Path(__file__).resolve().parents[1]
PAGE = ROOT / "docs" / "platforms.md"
BUILT_FROM_SOURCE = ("srt",)
"""Packages without any wheel that pip builds with no compiler."""


class Cell(NamedTuple):
    """A platform, a Python version, and the package without a wheel (None: all have one)."""

    target: str
    python: str
    missing: str | None


def cells(page: str) -> list[Cell]:
    """The cells of the page's first table."""
    rows = [
        [cell.strip() for cell in line.strip("|").split("|")]
        for line in page.partition("\n\n|")[2].partition("\n\n")[0].splitlines()
    ]
    pythons = rows[0][2:]
    found = []
    for row in rows[2:]:
        for python, said in zip(pythons, row[2:], strict=True):
            told = re.fullmatch(r"yes|no: (\S+)", said)
            if told is None:
                raise SystemExit(f"{PAGE.name}: '{said}' is neither 'yes' nor 'no: PACKAGE'")
            found.append(Cell(row[1].strip("`"), python, told[1]))
    return found


def fault(cell: Cell) -> str | None:
    """What is wrong with a cell, or None."""
    command = [
        *(sys.executable, "-m", "uv", "pip", "compile", "pyproject.toml", "--quiet"),
        *("--no-config", "--no-header", "--no-annotate", "--no-python-downloads"),
        *("--python", sys.executable, "--python-version", cell.python),
        *("--python-platform", cell.target, "--only-binary", ":all:"),
    ]
    for package in BUILT_FROM_SOURCE:
        command += ["--no-binary", package]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    if done.returncode == 0:
        return None if cell.missing is None else f"resolves now, {cell.missing} has a wheel"
    unresolved = "No solution found" in done.stderr
    if unresolved and cell.missing is not None and cell.missing in done.stderr:
        return None
    return done.stderr.strip() or f"uv ended with {done.returncode}"


def main() -> int:
    """Prints a line for each cell; 1 when one is wrong."""
    tried = cells(PAGE.read_text(encoding="utf-8"))
    with ThreadPoolExecutor(4) as pool:
        faults = list(pool.map(fault, tried))
    for cell, wrong in zip(tried, faults, strict=True):
        outcome = wrong or (f"no wheel of {cell.missing}" if cell.missing else "resolves")
        print(f"{cell.target}, Python {cell.python}: {outcome}")
    return int(any(faults))


if __name__ == "__main__":
    raise SystemExit(main())
