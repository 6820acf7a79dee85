"""Limit files: what is wrong is named with its line; a company's own set extends another."""

from __future__ import annotations

import hashlib

import pytest

from handsfree.checks.limit_rows import limit_rows
from handsfree.checks.limits import load_limits, parse_limits, shipped_limits
from handsfree.errors import LimitsError

REMINDER = '[[reminder]]\nname = "a"\ntext = "b"\n'


@pytest.mark.parametrize("name", shipped_limits())
def test_every_value_says_where_it_comes_from(name):
    rows = limit_rows(load_limits(name))
    assert len(rows) > 8
    assert all(row.source and row.status for row in rows)
    assert all(reminder.source for reminder in load_limits(name).reminder)


@pytest.mark.parametrize(
    ("key", "value", "status"),
    [
        ("energy", "1.69 J", "seen"),
        ("stall_force", "67 N", "memory"),  # BS 7036-4: seen; the clause of EN 16005: memory
        ("release_force", "67 N", "seen"),
        ("set_in_motion_force", "90 N", "seen"),
        ("open_fully_force", "67 N", "seen"),
        ("hold_open", "5.0 s", "memory"),
        ("closing_floor", "3.0 s", "memory"),
        ("latching", "1.5 s", "memory"),
    ],
)
def test_the_european_values_as_handed_down(en16005, key, value, status):
    limit = getattr(en16005.limit, key)
    assert (f"{limit.value} {limit.unit}", limit.status) == (value, status)


def test_what_was_not_seen_of_the_european_standard_is_computed_and_says_so(en16005):
    assert en16005.limit.opening_floor is None and en16005.table_one is None
    assert en16005.physics.status == "derived"
    assert "not seen" in en16005.physics.note


@pytest.mark.parametrize(
    ("key", "value"),
    [
        ("sign_height_least", 38),  # clause 6: centre 50 in, 12 in to either side (seen)
        ("sign_height_most", 62),
        ("plate_height_least", 34),  # A-5 (2013): 34 to 48 in high (seen)
        ("plate_height_most", 48),
        ("plate_distance", 12),  # A-5 (2013): within 12 ft, 1 to 5 ft preferred (seen)
        ("plate_distance_least", 1),
        ("plate_free_distance", 5),
        ("inspection_interval", 12),  # A-6 (2013): every year (seen)
    ],
)
def test_places_and_intervals_of_the_american_standard(a156, key, value):
    limit = getattr(a156.limit, key)
    assert limit.value == value
    assert limit.recommendation is not key.startswith("sign")


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
    assert house.limit.latching.cite() == "our own: house rule"


def test_reminders_of_a_house_come_on_top(a156, tmp_path):
    text = (
        'extends = "a156.19"\n[[reminder]]\nname = "keys"\nabout = "fire door"\n'
        'text = "the key stays with the guard"\nsource = "us"\nstatus = "house rule"\n'
    )
    house = parse_limits(text.encode(), tmp_path / "house.toml")
    assert [reminder.name for reminder in house.reminder[:1]] == ["keys"]
    assert house.reminder[1:] == a156.reminder


def test_the_hash_of_a_house_covers_what_it_extends(tmp_path):
    text = b'extends = "a156.19"\n'
    house = parse_limits(text, tmp_path / "house.toml")
    assert house.sha256 != hashlib.sha256(text).hexdigest()


@pytest.mark.parametrize(
    ("text", "line", "reason"),
    [
        ('extends = "a156.19"\n[limit.latching]\nvalue = -1\n', 3, "greater than 0"),
        ('extends = "a156.19"\n\n[limit.latching]\nunit = "kg"\n', 4, "no time"),
        ('extends = "a156.19"\n[limit.latching]\nvalu = 2\n', 3, "did you mean 'value'?"),
        ('extends = "a156.19"\n[limit.latching]\nvalue = nan\n', 3, "latching.value"),
        ('extends = "a156.19"\n[limit.latching]\nvalue = 2\n', 2, "source: is missing"),
        ('extends = "a156.19"\n[limit.energy]\nbound = "at least"\n', 3, "expected 'at most'"),
        ('extends = "a156.19"\n[limits]\n', 2, "did you mean 'limit'?"),
        (f'extends = "a156.19"\n{REMINDER}{REMINDER}about = "a door"\n', 8, "about"),
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
