"""Numbers are short, but never so short that a failing value looks like its limit."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from handsfree.checks.number_format import figure


@pytest.mark.parametrize(
    ("value", "limit", "words"),
    [
        ("3.50", None, "3.5"),
        ("4.00", None, "4"),
        ("10", None, "10"),
        ("3.495", "3.5", "3.495"),
        ("3.4999", "3.5", "3.4999"),
        ("3.5", "3.5", "3.5"),
        ("3.4966666", "3.5", "3.497"),
    ],
)
def test_figures(value, limit, words):
    assert figure(Decimal(value), None if limit is None else Decimal(limit)) == words


@given(
    value=st.decimals("0", "100", places=6),
    limit=st.decimals("0", "100", places=2),
)
def test_a_value_beside_its_limit_looks_like_it_only_when_it_is(value, limit):
    assert (figure(value, limit) == figure(limit, value)) == (value == limit)
