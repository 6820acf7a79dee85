"""The circumstances of a measurement: time, commit, versions and machine."""

from __future__ import annotations

import os
import platform
import subprocess
from datetime import UTC, datetime
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path

ROOT = Path(__file__).parents[2]


def circumstances() -> dict[str, object]:
    """Returns the circumstances that belong with every measured number, for JSON."""
    git = ["git", "-C", str(ROOT), "describe", "--always", "--dirty", "--abbrev=40"]
    lines = Path("/proc/cpuinfo").read_text(encoding="utf-8").splitlines()
    processors = [line.split(":")[1].strip() for line in lines if line.startswith("model name")]
    return {
        "date": datetime.now(UTC).isoformat(timespec="seconds"),
        "commit": subprocess.run(git, capture_output=True, text=True).stdout.strip(),
        "versions": {name: _version(name) for name in ("vosk", "pocketsphinx", "numpy")},
        "processor": processors[0] if processors else platform.processor(),
        "cores": os.cpu_count(),
    }


def _version(package: str) -> str | None:
    try:
        return version(package)
    except PackageNotFoundError:
        return None
