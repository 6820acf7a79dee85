"""Limit files: what is wrong is named with its line; a company's own set extends another."""

from __future__ import annotations

import pytest

from handsfree.checks.limits import load_limits, parse_limits
from handsfree.errors import LimitsError


def test_every_value_says_where_it_comes_from(a156):
    for name in type(a156.limit).model_fields:
        value = getattr(a156.limit, name)
        if value is not None:
            assert value.source and value.status


def test_a_house_rule_gives_only_what_differs(a156, tmp_path):
    file = tmp_path / "house.toml"
    file.write_text(
        'extends = "a156.19"\nname = "house"\n[limit.latching]\nvalue = 2.0\n'
        'source = "our own"\nstatus = "house rule"\n'
    )
    house = load_limits(file)
    assert (house.name, str(house.limit.latching.value)) == ("house", "2.0")
    assert house.limit.energy == a156.limit.energy
    assert house.sha256 != a156.sha256


@pytest.mark.parametrize(
    ("text", "line", "reason"),
    [
        ('extends = "a156.19"\n[limit.latching]\nvalue = -1\n', 3, "greater than 0"),
        ('extends = "a156.19"\n\n[limit.latching]\nunit = "kg"\n', 4, "no time"),
        ('extends = "a156.19"\n[limit.latching]\nvalu = 2\n', 3, "valu"),
        ('extends = "a156.20"\n', 1, "no shipped set"),
        ('extends = "a156.19"\n[limit.latching\n', 2, "no valid TOML"),
        ('extends = "a156.19"\n[limit.latching]\nstatus = "sure"\n', 3, "status"),
    ],
)
def test_a_wrong_file_is_named_with_line_and_reason(tmp_path, text, line, reason):
    with pytest.raises(LimitsError) as caught:
        parse_limits(text.encode(), tmp_path / "own.toml")
    assert (caught.value.line, reason in str(caught.value)) == (line, True), str(caught.value)


def test_an_unknown_set_lists_what_is_shipped():
    with pytest.raises(LimitsError, match=r"a156\.19"):
        load_limits("a156.99")
