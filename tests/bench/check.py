"""Measures the time to check a whole job: a pair, five runs of each quantity.

    python -m tests.bench.check --json check.json

The runs scatter a little, so that the uncertainty is computed again in every round. The timed part
is :func:`check_job` on a loaded job, whose result 'handsfree check' prints.
"""

from __future__ import annotations

import argparse
import json
import time
from decimal import Decimal
from pathlib import Path
from random import Random
from statistics import median, quantiles

from handsfree.checks.full_check import check_job
from handsfree.checks.limits import load_limits
from handsfree.job.job import Job, Sheet
from handsfree.job.opening import Leaf, Opening, Side, Swing, WeightSource
from handsfree.job.quantity import QUANTITIES, Quantity
from handsfree.job.reading import LEAF_SUBJECTS, Reading, Subject, Taken
from handsfree.job.unit import Family, parse_measure

RUNS = 5
LEAF_VALUES = {
    Quantity.BACKCHECK_ANGLE: "70",
    Quantity.OPENING_TIME: "4.2",
    Quantity.TOTAL_OPENING_TIME: "5.8",
    Quantity.HOLD_OPEN_TIME: "6.5",
    Quantity.CLOSING_TIME: "4.4",
    Quantity.LATCHING_TIME: "2.1",
    Quantity.OPENING_FORCE: "11",
    Quantity.CLOSING_FORCE: "12.5",
    Quantity.RELEASE_FORCE: "12",
    Quantity.SET_IN_MOTION_FORCE: "22",
    Quantity.OPEN_FULLY_FORCE: "13",
}
OTHER_VALUES = {
    (Quantity.PLATE_HEIGHT, Subject.LEFT_PLATE): "40",
    (Quantity.PLATE_DISTANCE, Subject.LEFT_PLATE): "4",
    (Quantity.SIGN_HEIGHT, Subject.NEAR_SIDE): "50",
    (Quantity.NEXT_SERVICE, Subject.OPENING): "12",
}


def a_pair(random: Random) -> Job:
    """A pair of 36 in by 150 lb leaves, with five runs of everything that is measured on a leaf."""
    leaves = tuple(
        Leaf(
            name=side,
            width=parse_measure("36in", Family.LENGTH),
            weight=parse_measure("150lb", Family.MASS),
            weight_source=WeightSource.LABEL,
        )
        for side in Side
    )
    opening = Opening(
        name="o", seen_from="s", swing=Swing.SAME_WAY, leaves=leaves, motors=(), fire_rated=True
    )
    job = Job.open(Sheet(reference="r", site="s", technician="t", opening=opening))
    asked = [((quantity, leaf), value) for leaf in LEAF_SUBJECTS
             for quantity, value in LEAF_VALUES.items()]  # fmt: skip
    for (quantity, subject), value in (*asked, *OTHER_VALUES.items()):
        facts = QUANTITIES[quantity]
        scatter = facts.family in (Family.TIME, Family.FORCE)
        for run in range(1, (RUNS if subject in LEAF_SUBJECTS else 1) + 1):
            off = Decimal(f"{random.gauss(0, 0.15) if scatter else 0:.2f}")
            job = job.with_reading(
                Reading(
                    id=f"{quantity}-{subject}-{run}",
                    quantity=quantity,
                    subject=subject,
                    value=Decimal(value) + off,
                    unit=facts.unit,
                    taken=Taken.STOPWATCH,
                    run=run,
                )
            )
    return job


def main() -> None:
    """Prints the median and the 95th percentile, and writes JSON if asked to."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n\n")[0])
    parser.add_argument(
        "--rounds", type=int, default=300, help="number of jobs to check, all different"
    )
    parser.add_argument("--json", type=Path)
    options = parser.parse_args()
    limits, random = load_limits("a156.19"), Random(4)
    check_job(a_pair(random), limits)
    took_ms: list[float] = []
    for _ in range(options.rounds):
        job = a_pair(random)
        began = time.perf_counter()
        findings = check_job(job, limits).findings
        took_ms.append(1000 * (time.perf_counter() - began))
    out = {
        "readings": len(job.readings),
        "findings": len(findings),
        "rounds": options.rounds,
        "median_ms": round(median(took_ms), 3),
        "p95_ms": round(quantiles(took_ms, n=20)[-1], 3),
    }
    print(
        f"{out['readings']} readings, {out['findings']} findings: "
        f"median {out['median_ms']:.2f} ms, 95th percentile {out['p95_ms']:.2f} ms "
        f"over {options.rounds} jobs"
    )
    if options.json:
        options.json.write_text(json.dumps(out, indent=1) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
