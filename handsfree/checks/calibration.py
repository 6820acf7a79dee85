"""The calibration of a gauge: how old it is on the day of a visit.

How often a gauge is calibrated is for its user to decide (ILAC-G24:2022 and OIML D 10, memory), so
the interval of twelve months is common practice, without a published source. Neither says how far a
gauge drifts after that, so no band is widened: an overdue or unknown calibration is only a caveat.
"""

from __future__ import annotations

from typing import Literal

INTERVAL_MONTHS = 12
"""Months after which a gauge is due for calibration: common practice, no published source."""

Calibration = Literal["current", "overdue", "after_visit"]


def calibration(dated: str, on: str) -> Calibration:
    """Tells whether a calibration ('2026-03' or '2026-03-14') is current on a day ('2026-04-01').

    A date without a day counts to the end of its month.
    """
    year, month, *day = (int(part) for part in dated.split("-"))
    now_year, now_month, now_day = (int(part) for part in on.split("-"))
    months = (now_year - year) * 12 + now_month - month
    if months < 0 or (months == 0 and day and day[0] > now_day):
        return "after_visit"
    late = bool(day) and now_day > day[0]
    overdue = months > INTERVAL_MONTHS or (months == INTERVAL_MONTHS and late)
    return "overdue" if overdue else "current"
