"""Student's t compared with scipy.stats."""

from __future__ import annotations

import math

import pytest
import scipy
from hypothesis import given
from hypothesis import strategies as st

from handsfree.checks.students_t import t_cdf, t_quantile

FREEDOM = st.floats(1, 2000) | st.just(math.inf)


@given(t=st.floats(-40, 40), freedom=FREEDOM)
def test_the_distribution_is_scipys(t, freedom):
    assert t_cdf(t, freedom) == pytest.approx(scipy.stats.t.cdf(t, freedom), abs=1e-4)


@given(share=st.floats(0.6, 0.99), freedom=FREEDOM)
def test_the_quantile_is_scipys(share, freedom):
    assert t_quantile(share, freedom) == pytest.approx(scipy.stats.t.ppf(share, freedom), rel=2e-3)


def test_textbook_values_of_two_sided_95_percent():
    """GUM Table G.2: 12.71, 4.30, 2.78 and 1.960 for 1, 2, 4 and infinitely many."""
    values = [round(t_quantile(0.975, nu), 2) for nu in (1, 2, 4, math.inf)]
    assert values == [12.71, 4.30, 2.78, 1.96]
