"""Measures how fast the office is, and how large its files are.

    python -m tests.bench.office                       # every part
    python -m tests.bench.office report --json r.json  # one part

Each part prints its lines and returns its numbers. Run it on an idle machine.
"""

from __future__ import annotations

import argparse
import json
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

from . import office_list, office_listen, office_report

PARTS: dict[str, Callable[[Path], dict[str, Any]]] = {
    "report": office_report.report,
    "report-large": office_report.large,
    "sound": office_report.sound,
    "list": office_list.visit_list,
    "listen": office_listen.listen,
}
"""Parts of the bench; each gets an empty folder to work in."""


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("part", nargs="*", choices=[*PARTS, []], help="by default all")
    parser.add_argument("--json", type=Path)
    asked = parser.parse_args()
    results = {}
    for name in asked.part or PARTS:
        print(f"# {name}")
        with tempfile.TemporaryDirectory() as folder:
            results[name] = PARTS[name](Path(folder))
    if asked.json:
        asked.json.write_text(json.dumps(results, indent=2), encoding="utf-8")


if __name__ == "__main__":
    main()
