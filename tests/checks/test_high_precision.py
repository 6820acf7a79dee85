"""The arithmetic compared with mpmath at 40 digits: least times, energies, and Student's t."""

from __future__ import annotations

from decimal import Decimal

import mpmath as mp
import pytest
from hypothesis import given
from hypothesis import strategies as st

from handsfree.checks.energy import energy_j, least_time_s, uniform_inertia_kg_m2
from handsfree.checks.least_travel_time import least_travel_time
from handsfree.checks.measurement_uncertainty import POCOCK, Uncertainty, difference
from handsfree.checks.students_t import t_cdf, t_quantile
from handsfree.job.unit import Measure, Unit

DIGITS = 40
# Exact by definition: the international yard and pound, standard gravity.
INCH_M, POUND_KG, G = mp.mpf("0.0254"), mp.mpf("0.45359237"), mp.mpf("9.80665")


def precise(value: object) -> mp.mpf:
    return mp.mpf(str(value))


@given(width=st.decimals("18", "60", places=2), weight=st.decimals("30", "700", places=1))
def test_least_times_and_energies(a156, width, weight):
    """T = (80π/180)·√(m·D²/3 / (2·KE)) and D·√W / 133, for any size."""
    with mp.workdps(DIGITS):
        energy = mp.mpf("1.25") * POUND_KG * G * 12 * INCH_M
        inertia = precise(weight) * POUND_KG * (precise(width) * INCH_M) ** 2 / 3
        physics = mp.radians(80) * mp.sqrt(inertia / (2 * energy))
        formula = precise(width) * mp.sqrt(precise(weight)) / 133
        carried = inertia * (mp.radians(80) / 4) ** 2 / 2
    found = least_travel_time(
        Measure(value=width, unit=Unit.INCH),
        Measure(value=weight, unit=Unit.POUND),
        a156,
        a156.limit.opening_floor,
    )
    assert float(found.physics_s) == pytest.approx(float(physics), abs=1e-6)
    assert float(found.formula_s) == pytest.approx(float(formula), rel=1e-15)
    ours = uniform_inertia_kg_m2(float(weight) * 0.45359237, float(width) * 0.0254)
    assert energy_j(ours, 80, 4) == pytest.approx(float(carried), rel=1e-13)
    assert least_time_s(ours, 80, float(energy)) == pytest.approx(float(physics), rel=1e-13)


def test_every_cell_of_table_one_is_the_formula_up_to_the_half_second(a156):
    """20 cells, by mpmath's ceiling, never below 3.0 s (derived)."""
    table = a156.table_one
    for width, row in zip(table.widths_in, table.seconds, strict=True):
        for weight, cell in zip(table.weights_lb, row, strict=True):
            with mp.workdps(DIGITS):
                formula = precise(width) * mp.sqrt(precise(weight)) / 133
                by_hand = max(mp.mpf(3), mp.ceil(2 * formula) / 2)
            assert by_hand == precise(cell), (width, weight)


@given(t=st.floats(-30, 30), freedom=st.integers(1, 60))
def test_students_t(t, freedom):
    """The regularised incomplete beta function at 40 digits; a probability shows two of them."""
    with mp.workdps(DIGITS):
        x = mp.mpf(freedom) / (freedom + mp.mpf(t) ** 2)
        tail = mp.betainc(mp.mpf(freedom) / 2, mp.mpf("0.5"), 0, x, regularized=True) / 2
        exact = tail if t < 0 else 1 - tail
    assert t_cdf(t, freedom) == pytest.approx(float(exact), abs=1e-6)


@pytest.mark.parametrize("freedom", [2, 3, 4])
def test_the_quantiles_that_decide(freedom):
    """At the nominal level of one of Pocock's five looks, to one side."""
    with mp.workdps(DIGITS):
        share = mp.ncdf(mp.mpf(str(POCOCK)))
        exact = mp.findroot(
            lambda t: (
                1
                - mp.betainc(
                    mp.mpf(freedom) / 2,
                    mp.mpf("0.5"),
                    0,
                    freedom / (freedom + t**2),
                    regularized=True,
                )
                / 2
                - share
            ),
            6,
        )
    assert t_quantile(float(share), freedom) == pytest.approx(float(exact), rel=1e-4)


@given(one=st.floats(0.05, 0.5), other=st.floats(0.05, 0.5))
def test_the_doubt_of_a_difference(one, other):
    """GUM 5.1.2: the root of the sum of squares."""
    with mp.workdps(DIGITS):
        exact = mp.sqrt(mp.mpf(one) ** 2 + mp.mpf(other) ** 2)

    def time(sd: float) -> Uncertainty:
        return Uncertainty(
            mean=Decimal(5),
            unit=Unit.SECOND,
            runs=1,
            lowest=Decimal(5),
            highest=Decimal(5),
            spread=None,
            known_sd=sd,
            run_sd=sd,
            fixed=0.0,
        )

    apart = difference(time(one), time(other), None, Decimal(0), Decimal(0))
    assert apart.standard == pytest.approx(float(exact), rel=1e-14)
