"""The setting to try next, from a job's readings at known settings."""

from __future__ import annotations

import math
from decimal import Decimal

import pytest

from handsfree.checks.fitted_settings import fitted_settings
from handsfree.checks.full_check import check_job
from handsfree.checks.limits import parse_limits
from handsfree.checks.setting_fit import Scale
from handsfree.job.quantity import Quantity

from .conftest import a_job, read, with_leaf

ONE_TO_NINE = Scale(low=Decimal(1), high=Decimal(9), step=Decimal(1))


def tried(*times: str, quantity: Quantity = Quantity.OPENING_TIME, job=None):
    """Readings at settings 9, 8, 7 and so on, one attempt each."""
    job = job or a_job()
    for attempt, time in enumerate(times, start=1):
        job = read(job, quantity, time, attempt=attempt)
    return job, {r.id: Decimal(10 - r.attempt) for r in job.readings}


def test_the_setting_that_meets_limit_guard_band_and_scatter(a156):
    """The speed is setting/24 a second: 24/9, 24/8 and 24/7 s. For 3.5 + 0.54 + 0.20 s it is 5."""
    job, settings = tried("2.667", "3.000", "3.429")
    (found,) = fitted_settings(job, a156, settings, ONE_TO_NINE)
    assert (found.advised.aim_s, found.advised.setting) == (Decimal("4.24"), Decimal(5))
    assert found.words.startswith("setting 5 should take 4.8 seconds")


def test_the_energy_is_the_aim_where_it_asks_for_more(tmp_path):
    """Half the energy of A156.19 asks 36 in by 150 lb for 4.67 s (derived)."""
    house = parse_limits(
        b'extends = "a156.19"\n[limit.energy]\nvalue = 0.625\nsource = "us"\n'
        b'status = "house rule"\n',
        tmp_path / "house.toml",
    )
    job, settings = tried("2.667", "3.000", "3.429")
    (found,) = fitted_settings(job, house, settings, ONE_TO_NINE)
    by_hand = math.sqrt(2) * 36 * math.sqrt(150) / 133.50 + 0.54 + 0.20
    assert float(found.advised.aim_s) == pytest.approx(by_hand, abs=0.001)


def test_no_setting_is_told_of_one_setting_or_of_an_unknown_limit(a156):
    job, settings = tried("2.9")
    (found,) = fitted_settings(job, a156, settings, ONE_TO_NINE)
    assert found.advised is None and "measure again" in found.words
    unknown, settings = tried("3.2", "3.9", job=with_leaf(a_job(), weight=None))
    assert fitted_settings(unknown, a156, settings, ONE_TO_NINE) == ()


def test_a_setting_that_passes_is_left_where_it_is(a156):
    """No fit advises a faster door because it could be faster."""
    job, settings = tried("2.9", "4.5")
    (found,) = fitted_settings(job, a156, settings, ONE_TO_NINE)
    assert found.words == "setting 8 passes, so leave it there"
    assert found.advised is None


def test_the_check_of_a_job_without_settings_fits_nothing(a156):
    job, _ = tried("2.667", "3.000")
    assert check_job(job, a156).settings == ()
