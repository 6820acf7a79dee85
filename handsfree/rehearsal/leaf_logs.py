"""The simulated technician's phone on the leaf, which logs each cycle into the visit's folder."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from handsfree.job.opening import Side
from handsfree.motion.rotation_log import RotationLog
from handsfree.rehearsal.cycle import Cycle
from handsfree.rehearsal.door import Door
from handsfree.rehearsal.phone_on_leaf import Phone, Slip, swung

MOST_UNUSED = 3
"""Number of logs of a leaf without a reading after which the technician uses a stopwatch."""
SLIPS = 0.2
"""Share of the logs in which the phone slips on the leaf because the tape lets go."""


class LeafLogs:
    """Logs of a phone taped to a simulated leaf, stored in ``folder``.

    All of them come from the same phone with its own scale error.
    """

    def __init__(self, folder: Path, door: Door, seed: int) -> None:
        self._folder, self._door = folder, door
        self._random = np.random.default_rng(seed)
        self._scale = 1.0 + self._random.normal(0.0, Phone().scale_sd)
        self._made = 0
        self.unused = 0
        """Logs since the last one that was filed."""

    def log(self, side: Side) -> Cycle:
        """Lets a leaf open and close once and stores the log; returns the true cycle."""
        cycle = self._door.cycle(side, trace_every=1)
        phone = Phone(scale_sd=0.0)
        slip = None
        if self.slips():
            moved_s = self._random.uniform(3.0, 2.0 + (cycle.backcheck_s or 2.0))
            slip = Slip(at_s=moved_s, degrees=float(self._random.uniform(5, 20)), seconds=0.5)
        log, _ = swung([cycle], phone, self._random, slip=slip)
        scaled = RotationLog(log.time_s, log.rates_rad_s * self._scale)
        self._made += 1
        self.unused += 1
        self._folder.mkdir(exist_ok=True)
        file = self._folder / f"leaf-{self._made:03}.csv"
        file.write_text(as_csv(scaled), encoding="utf-8")
        return cycle

    def slips(self) -> bool:
        """Decides at random whether the phone slips in the next log."""
        return bool(self._random.random() < SLIPS)


def as_csv(log: RotationLog) -> str:
    """The log in the format of a logging app."""
    rows = ["Time (s),Gyroscope x (rad/s),Gyroscope y (rad/s),Gyroscope z (rad/s)"]
    rows += [
        f"{t:.4f},{x:.5f},{y:.5f},{z:.5f}"
        for t, (x, y, z) in zip(log.time_s.tolist(), log.rates_rad_s.tolist(), strict=True)
    ]
    return "\n".join(rows) + "\n"
