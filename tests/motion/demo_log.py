"""Writes the demo logs of docs/motion.md from the simulated door: python -m tests.motion.demo_log

Two doors with the same opening time: one ramps up gently, one hard.
"""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np

from handsfree.rehearsal.drive import Drive
from handsfree.rehearsal.leaf_body import Body
from handsfree.rehearsal.leaf_logs import as_csv
from handsfree.rehearsal.leaf_motion import run_cycle
from handsfree.rehearsal.phone_on_leaf import Phone, swung

EXAMPLES = Path(__file__).parents[2] / "docs" / "examples"
BODY = Body(width_m=0.9144, height_m=2.13, mass_kg=68.04)
DRIVES = {
    "even-leaf.csv": (20.0, 1.0),
    "hard-ramp-leaf.csv": (16.2, 1.9),
}


def drive(opening_deg_s: float, kick: float) -> Drive:
    """A drive whose opening time is about 3.9 s, whatever its ramp."""
    return Drive(
        opening_rad_s=math.radians(opening_deg_s),
        backcheck_rad_s=math.radians(8),
        backcheck_rad=math.radians(75),
        closing_rad_s=math.radians(18),
        latching_rad_s=math.radians(5.5),
        hold_s=5.5,
        kick=kick,
        kick_rad=math.radians(30),
    )


def demo_csv(name: str) -> str:
    """The content of one demo log."""
    cycle = run_cycle(BODY, drive(*DRIVES[name]), trace_every=1)
    seed = list(DRIVES).index(name)
    log, _ = swung([cycle], Phone(rate_hz=60), np.random.default_rng(seed))
    return as_csv(log)


def main() -> None:
    for name in DRIVES:
        (EXAMPLES / name).write_text(demo_csv(name), encoding="utf-8")


if __name__ == "__main__":
    main()
