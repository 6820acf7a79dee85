"""Prints the faults of a data file that somebody wrote."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from pathlib import Path

from handsfree.cli.terminal import echo, echo_json
from handsfree.errors import HandsfreeError
from handsfree.exit_codes import ExitCode


def end_with_faults(file: Path, faults: Sequence[HandsfreeError], *, as_json: bool) -> None:
    """Prints the faults and exits with 2; does nothing without a fault."""
    if not faults:
        return
    if as_json:
        listed = [
            {
                "file": None if fault.file is None else str(fault.file),
                "line": fault.line,
                "message": fault.message,
                "way_out": fault.way_out,
            }
            for fault in faults
        ]
        echo_json({"file": str(file), "faults": listed})
    else:
        for fault in faults:
            echo(f"handsfree: {fault}", err=True)
    sys.exit(ExitCode.BAD_INPUT)
