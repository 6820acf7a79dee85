"""The calibration of a gauge: how old it is on the day of a visit.

How often a gauge is calibrated is for its user to decide (ILAC-G24:2022 and OIML D 10, memory), so
the interval of twelve months is common practice, no published source. Neither says how far a gauge
drifts beyond it. So no band is widened: a calibration that is overdue or unknown is a caveat.
"""

from __future__ import annotations

from datetime import date
from typing import Literal

INTERVAL_MONTHS = 12
"""Months after which a gauge is calibrated again: common practice, no published source."""

Calibration = Literal["current", "overdue", "after_visit"]


def calibration(dated: str, on: date) -> Calibration:
    """The state of a calibration ('2026-03' or '2026-03-14') on the day of a visit.

    A month counts to its end, so that nobody is told of days that were not said.
    """
    year, month, *day = (int(part) for part in dated.split("-"))
    if (year, month, *day) > (on.year, on.month, on.day)[: 2 + len(day)]:
        return "after_visit"
    months = (on.year - year) * 12 + on.month - month
    late = bool(day) and on.day > day[0]
    return (
        "overdue" if months > INTERVAL_MONTHS or (months == INTERVAL_MONTHS and late) else "current"
    )
