"""Measures the processor time of a start: the help, and a check of one reading.

    python -m tests.bench.startup --json startup.json

Each command runs in a new process, with Python's files in the cache. The measure is the processor
time of the process (user and system), so other programs disturb it little. 'python' is an
interpreter that does nothing, to be subtracted.
"""

from __future__ import annotations

import argparse
import json
import resource
import subprocess
import sys
from pathlib import Path
from statistics import median

CHECK = ("check", "--width", "36in", "--weight", "150lb", "--opening", "3.2")
COMMANDS = {
    "python": ("-c", "pass"),
    "import handsfree": ("-c", "import handsfree"),
    "--help": ("-m", "handsfree", "--help"),
    "check": ("-m", "handsfree", *CHECK),
    "check --json": ("-m", "handsfree", *CHECK, "--json"),
}


def processor_s(command: tuple[str, ...]) -> float:
    """Returns the processor time of one run (s)."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    subprocess.run([sys.executable, *command], capture_output=True, check=False)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return (after.ru_utime - before.ru_utime) + (after.ru_stime - before.ru_stime)


def main() -> None:
    """Prints the lowest and the median time of each command, and writes JSON if asked to."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n\n")[0])
    parser.add_argument("--rounds", type=int, default=11)
    parser.add_argument("--json", type=Path)
    options = parser.parse_args()
    out = {}
    for name, command in COMMANDS.items():
        processor_s(command)
        took_s = sorted(processor_s(command) for _ in range(options.rounds))
        out[name] = {"lowest_s": round(took_s[0], 3), "median_s": round(median(took_s), 3)}
        print(f"{name:18} lowest {took_s[0]:.3f} s, median {median(took_s):.3f} s")
    if options.json:
        options.json.write_text(json.dumps(out, indent=1) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
