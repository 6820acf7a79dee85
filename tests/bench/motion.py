"""Measures a leaf with a phone on it: times, angles, energy, uncertainty, and rejected logs.

    python -m tests.bench.motion --cycles 500 --json motion.json

A random door (width, weight, speeds, backcheck, ramps) swings one or more times in the simulation,
and a simulated phone logs it with the errors of a consumer gyroscope. The measurements are compared
with the simulated motion.
"""

from __future__ import annotations

import argparse
import json
import math
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from statistics import NormalDist

import numpy as np

from handsfree.checks.energy import uniform_inertia_kg_m2
from handsfree.errors import MotionError
from handsfree.job.quantity import Quantity
from handsfree.motion.leaf_energy_peak import energy_peaks
from handsfree.motion.measure import measure
from handsfree.motion.motion_record import CycleMotion
from handsfree.motion.rotation_log import RotationLog, read_rotation_log
from handsfree.rehearsal.cycle import Cycle
from handsfree.rehearsal.drive import Drive
from handsfree.rehearsal.leaf_body import Body
from handsfree.rehearsal.leaf_motion import run_cycle
from handsfree.rehearsal.phone_on_leaf import Phone, Push, Slip, swung

TIMES: dict[Quantity, Callable[[Cycle], float | None]] = {
    Quantity.OPENING_TIME: lambda cycle: cycle.opening_time_s,
    Quantity.TOTAL_OPENING_TIME: lambda cycle: cycle.total_opening_time_s,
    Quantity.HOLD_OPEN_TIME: lambda cycle: cycle.hold_open_time_s,
    Quantity.CLOSING_TIME: lambda cycle: cycle.closing_time_s,
    Quantity.LATCHING_TIME: lambda cycle: cycle.latching_time_s,
}
PHONES = {
    "consumer phone, 100 Hz": Phone(),
    "50 Hz": Phone(rate_hz=50),
    "200 Hz": Phone(rate_hz=200, noise_deg_s=0.11),
    "500 Hz": Phone(rate_hz=500, noise_deg_s=0.18, jitter_s=0.0003),
    "large bias and drift": Phone(bias_deg_s=1.5, drift_deg_s_min=0.3),
    "noisy, samples 4 ms late": Phone(noise_deg_s=0.25, jitter_s=0.004),
}


def a_door(random: np.random.Generator) -> tuple[Body, Drive]:
    """A low-energy leaf, OK or not: 30 to 48 in wide, 35 to 110 kg."""
    body = Body(
        width_m=float(random.uniform(0.76, 1.22)),
        height_m=2.1,
        mass_kg=float(random.uniform(35, 110)),
        open_rad=math.radians(float(random.uniform(84, 110))),
    )
    opening = float(random.uniform(15, 30))
    drive = Drive(
        opening_rad_s=math.radians(opening),
        backcheck_rad_s=math.radians(opening * float(random.uniform(0.25, 0.5))),
        backcheck_rad=math.radians(float(random.uniform(60, 78))),
        closing_rad_s=math.radians(float(random.uniform(14, 28))),
        latching_rad_s=math.radians(float(random.uniform(3, 8))),
        hold_s=float(random.uniform(3, 7)),
        ramp_s=float(random.uniform(0.15, 0.5)),
        kick=float(random.choice([1.0, 1.0, 1.3, 1.6])),
    )
    return body, drive


def swings(count: int, random: np.random.Generator) -> list[tuple[Body, Cycle]]:
    """Simulates ``count`` cycles, each of another door, from closed to closed."""
    found: list[tuple[Body, Cycle]] = []
    while len(found) < count:
        body, drive = a_door(random)
        cycle = run_cycle(body, drive, trace_every=1)
        if cycle.end == "shut":
            found.append((body, cycle))
    return found


def accuracy(
    doors: list[tuple[Body, Cycle]], phone: Phone, *, known: bool, random: np.random.Generator
) -> dict[str, float | int | str]:
    """Returns the errors of times, angles and energies, and how often the stated uncertainty covers
    the truth.
    """
    time_errors, angle_errors, relative_angles, energy_errors = [], [], [], []
    covered: list[bool] = []
    flagged = refused = 0
    scales = scale_errors(len(doors), phone.scale_sd, random)
    for (body, cycle), scale in zip(doors, scales, strict=True):
        log, _ = swung([cycle], phone.model_copy(update={"scale_error": scale}), random)
        square = cycle.widest_deg + random.normal(0.0, 0.5) if known else None
        try:
            motion = measure(log, open_angle_deg=square).cycles[0]
        except MotionError:
            refused += 1
            continue
        flagged += bool(motion.flags)
        for quantity, of_truth in TIMES.items():
            true, seen = of_truth(cycle), motion.time(quantity)
            if true is None or seen is None:
                continue
            time_errors.append(seen.seconds - true)
            covered.append(abs(seen.seconds - true) < 1.96 * seen.uncertainty_s)
        for angle, true_deg in ((motion.open_angle, cycle.widest_deg),):
            assert angle is not None
            angle_errors.append(angle.degrees - true_deg)
            relative_angles.append(angle.degrees / true_deg - 1)
            covered.append(abs(angle.degrees - true_deg) < 1.96 * angle.uncertainty_deg)
        energy_errors += _energies(body, cycle, motion, covered)
    return {
        "cycles": len(doors),
        "refused": refused,
        "flagged": flagged,
        "times, 95 % within s": _at_95(time_errors),
        "angles, 95 % within degrees": _at_95(angle_errors),
        "angles, 95 % within %": 100 * _at_95(relative_angles),
        "largest energy, 95 % within %": 100 * _at_95(energy_errors),
        "doubt covers, %": 100 * float(np.mean(covered)),
    }


def scale_errors(count: int, sd: float, random: np.random.Generator) -> list[float]:
    """Relative scale errors of ``count`` phones, in random order: one from each of as many equally
    likely parts of a normal distribution (stratified sampling), so that the row does not depend on
    the spread that happened to be drawn.
    """
    quantiles = (np.arange(count) + random.uniform(size=count)) / count
    drawn = [NormalDist(0.0, sd).inv_cdf(float(quantile)) for quantile in quantiles]
    random.shuffle(drawn)
    return drawn


def _energies(body: Body, cycle: Cycle, motion: CycleMotion, covered: list[bool]) -> list[float]:
    inertia = uniform_inertia_kg_m2(body.mass_kg, body.width_m)
    errors = []
    for peak in energy_peaks(motion, inertia, 0.0):
        true = cycle.opening_peak_j if peak.travel == "opening" else cycle.closing_peak_j
        errors.append(peak.energy_j / true - 1)
        covered.append(abs(peak.energy_j - true) < 1.96 * peak.uncertainty_j)
    return errors


def _at_95(errors: list[float]) -> float:
    return float(np.percentile(np.abs(errors), 95))


def caught(
    doors: list[tuple[Body, Cycle]], kind: str, random: np.random.Generator
) -> dict[str, float | int | str]:
    """Returns the share of spoiled logs that are rejected or flagged."""
    noticed = 0
    for _, cycle in doors:
        log = _spoiled(cycle, kind, random)
        try:
            noticed += bool(measure(log).cycles[0].flags)
        except MotionError:
            noticed += 1
    return {"cycles": len(doors), "refused or flagged, %": 100 * noticed / len(doors)}


def _spoiled(cycle: Cycle, kind: str, random: np.random.Generator) -> RotationLog:
    phone = Phone()
    assert cycle.starts_s and cycle.open_s and cycle.closes_s and cycle.ten_s
    opens = bool(random.random() < 0.5)
    begin, end = (cycle.starts_s, cycle.open_s) if opens else (cycle.closes_s, cycle.ten_s)
    low, high = (0.1, 0.3) if kind.endswith("into the ramp") else (0.3, 0.85)
    at_s = 2.0 + begin + (end - begin) * float(random.uniform(low, high))
    if kind == "the phone slips":
        slip = Slip(
            at_s=at_s,
            degrees=float(random.uniform(3, 30)) * float(random.choice([-1, 1])),
            seconds=float(random.uniform(0.1, 1.0)),
        )
        return swung([cycle], phone, random, slip=slip)[0]
    if kind.startswith("a hand pushes"):
        share = float(random.uniform(0.25, 0.8)) * float(random.choice([-0.6, 1.0]))
        push = Push(at_s=at_s, share=share, seconds=float(random.uniform(0.15, 0.4)))
        return swung([cycle], phone, random, push=push)[0]
    if kind == "no rest before":
        late_s = 2.0 + cycle.starts_s + float(random.uniform(-0.4, 3.0))
        return swung([cycle], phone, random, skipped_s=late_s)[0]
    assert kind == "the door stays ajar"
    ajar = cycle.model_copy(
        update={
            "end": "did not shut",
            "trace": tuple(
                (t, d) for t, d in cycle.trace if t < cycle.closes_s or d > random.uniform(3, 20)
            ),
        }
    )
    return swung([ajar], phone, random)[0]


SPOILED = (
    "the phone slips",
    "a hand pushes after the ramp",
    "a hand pushes into the ramp",
    "no rest before",
    "the door stays ajar",
)


def hour_s(random: np.random.Generator) -> dict[str, float | int | str]:
    """Measures the processor time for an hour of log at 100 Hz: reading the file, and evaluating
    it.
    """
    cycles = [cycle for _, cycle in swings(8, random)] * 18
    log, _ = swung(cycles, Phone(), random, rest_s=1.5)
    share = 3600 / float(log.time_s[-1])
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "hour.csv"
        table = np.column_stack((log.time_s, log.rates_rad_s))
        header = "time (s),x (rad/s),y (rad/s),z (rad/s)"
        np.savetxt(file, table, fmt="%.5f", delimiter=",", header=header, comments="")
        begin = time.process_time()
        read_rotation_log(file)
        read = time.process_time()
        measure(log)
        end = time.process_time()
    return {"reading, s": (read - begin) * share, "measuring, s": (end - read) * share}


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--cycles", type=int, default=500)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--json", type=Path)
    asked = parser.parse_args()
    random = np.random.default_rng(asked.seed)
    doors = swings(asked.cycles, random)
    rows: dict[str, dict[str, float | int | str]] = {}
    for name, phone in PHONES.items():
        for known in (False, True):
            row = f"{name}, {'open angle known' if known else 'not calibrated'}"
            rows[row] = accuracy(doors, phone, known=known, random=random)
            print(row, _shown(rows[row]))
    for kind in SPOILED:
        rows[kind] = caught(doors, kind, random)
        print(kind, _shown(rows[kind]))
    rows["an hour of log"] = hour_s(random)
    print("an hour of log", _shown(rows["an hour of log"]))
    if asked.json:
        asked.json.write_text(json.dumps(rows, indent=1))


def _shown(row: dict[str, float | int | str]) -> str:
    return ", ".join(
        f"{name}: {value:.3g}" if isinstance(value, float) else f"{name}: {value}"
        for name, value in row.items()
    )


if __name__ == "__main__":
    main()
