"""Several runs of one leaf: the mean of each time, its doubt, and whether another run helps."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from decimal import Decimal

from handsfree.checks.measurement_uncertainty import (
    DOOR_SD_S,
    MOST_RUNS,
    Doubt,
    decide,
    runs_to_decide,
    sample_sd,
)
from handsfree.job.finding import Verdict
from handsfree.job.quantity import Quantity
from handsfree.job.record import Record
from handsfree.job.unit import Unit
from handsfree.timing.cycle import SPANS, Cycle, Interval


class Outlook(Record):
    """One quantity after some runs: its doubt, the verdict, and how many more runs decide.

    ``more_runs`` is 0 when it is decided, None when no run up to the fifth should decide: the
    time is too near its limit, or five are done.
    """

    quantity: Quantity
    doubt: Doubt
    verdict: Verdict
    more_runs: int | None


def doubt_of_intervals(intervals: Sequence[Interval]) -> Doubt:
    """Mean and doubt of one quantity's runs, in s, each with its own marks and observer.

    ValueError without any run.
    """
    if not intervals:
        raise ValueError("there is no run to take the mean of")
    count = len(intervals)
    mean = math.fsum(each.seconds for each in intervals) / count
    known = math.sqrt(math.fsum(each.uncertainty_s**2 for each in intervals) / count)
    seconds = [each.seconds for each in intervals]
    spread = sample_sd(seconds)
    return Doubt(
        mean=Decimal(f"{mean:.3f}"),
        unit=Unit.SECOND,
        runs=count,
        lowest=Decimal(f"{min(seconds):.3f}"),
        highest=Decimal(f"{max(seconds):.3f}"),
        spread=spread,
        known_sd=known,
        run_sd=max(known, spread or 0.0),
        fixed=0.0,
        door_sd=DOOR_SD_S,
    )


def outlook(runs: Sequence[Cycle], least_s: Mapping[Quantity, Decimal]) -> tuple[Outlook, ...]:
    """Each time that was taken and has a least value (in s), judged with its guard band."""
    found = []
    for quantity in SPANS:
        taken = [each for run in runs if (each := run.interval(quantity)) is not None]
        if not taken or quantity not in least_s:
            continue
        doubt = doubt_of_intervals(taken)
        found.append(
            Outlook(
                quantity=quantity,
                doubt=doubt,
                verdict=decide(doubt, least_s[quantity], "at least", "guarded"),
                more_runs=runs_to_decide(doubt, least_s[quantity], "at least"),
            )
        )
    return tuple(found)


def another_run_helps(outlooks: Sequence[Outlook]) -> bool:
    """Whether a further run should decide something that is too close to call.

    Not when all is decided, nor when a time fails: the door has to be set first.
    """
    if any(each.verdict is Verdict.FAIL for each in outlooks):
        return False
    return any(each.more_runs and each.doubt.runs < MOST_RUNS for each in outlooks)
