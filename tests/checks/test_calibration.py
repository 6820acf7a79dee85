"""The age of a calibration on the day of a visit; the interval is common practice."""

from __future__ import annotations

import pytest

from handsfree.checks.calibration import calibration


@pytest.mark.parametrize(
    ("dated", "state"),
    [
        ("2026-03-14", "current"),
        ("2026-03-15", "after_visit"),
        ("2026-04", "after_visit"),
        ("2026-03", "current"),
        ("2025-03-14", "current"),
        ("2025-03-13", "overdue"),
        ("2025-03", "current"),  # it may have been at the end of the month
        ("2025-02", "overdue"),
        ("2024-12-31", "overdue"),
    ],
)
def test_a_year_is_counted_from_the_day_or_the_end_of_the_month(dated, state):
    assert calibration(dated, "2026-03-14") == state
