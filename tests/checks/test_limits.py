"""Limit files: faults are named with their line; a company's own set extends another."""

from __future__ import annotations

import hashlib
from decimal import Decimal

import pytest

from handsfree.checks.evaluate import judge
from handsfree.checks.limit_rows import limit_rows, looser_values
from handsfree.checks.limit_set import NOT_NOTED, Limits
from handsfree.checks.limits import load_limits, parse_limits, shipped_limits
from handsfree.errors import LimitsError
from handsfree.job.finding import Verdict
from handsfree.job.quantity import Quantity

from .conftest import a_job, read

OURS = 'source = "us"\nstatus = "house rule"\n'
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
    assert en16005.table_one is None
    assert (en16005.limit.opening_floor.value, en16005.limit.opening_floor.status) == (3, "memory")
    assert en16005.physics.status == "derived"
    assert (en16005.physics.round_up_to_s, en16005.physics.proven_step_s) == (
        Decimal("0.5"),
        Decimal("0.1"),
    )
    assert "not seen" in en16005.physics.note and "memory" in en16005.physics.note


@pytest.mark.parametrize("name", shipped_limits())
def test_a_clause_number_stands_only_with_its_edition(name):
    """They differ between editions (seen: one page puts the total closing time at 4.4)."""
    limits = load_limits(name)
    sourced = [limit for key in Limits.model_fields if (limit := getattr(limits.limit, key))]
    tables = (limits.table_one, limits.formula, limits.physics, limits.table_two)
    sourced += [*(each for each in tables if each), *limits.reminder]
    for each in sourced:
        assert each.clause == NOT_NOTED or each.edition != NOT_NOTED, each


@pytest.mark.parametrize(
    ("key", "value"),
    [
        ("sign_height_least", 38),  # centre 50 in, 12 in to either side (seen)
        ("sign_height_most", 62),
        ("plate_height_least", 34),  # A-5 (2013): 34 to 48 in high (seen)
        ("plate_height_most", 48),
        ("plate_distance", 12),  # A-5 (2013): within 12 ft, 1 to 5 ft preferred (seen)
        ("plate_distance_least", 1),
        ("plate_free_distance", 5),
        ("inspection_interval", 12),  # A-6 (2013): every year (seen)
        ("switch_range", 12),  # an appendix: touchless switch, 12 in (seen)
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
        (f'extends = "a156.19"\n\n[limit.latching]\nunit = "kg"\n{OURS}', 4, "no time"),
        ('extends = "a156.19"\n[limit.latching]\nvalu = 2\n', 3, "did you mean 'value'?"),
        ('extends = "a156.19"\n[limit.latching]\nvalue = nan\n', 3, "latching.value"),
        ('extends = "a156.19"\n[limit.latching]\nvalue = 2\n', 2, "source: is missing"),
        (f'extends = "a156.19"\n[limit.energy]\nbound = "at least"\n{OURS}', 3, "'at most'"),
        ('extends = "a156.19"\n[limit.energy]\nrecommendation = true\n', 2, "source: is missing"),
        ('extends = "a156.19"\n[formula]\nround_up_to_s = 0.1\n', 2, "source: is missing"),
        ('extends = "a156.19"\nname = "a156.19"\n', 2, "is the set that this one extends"),
        ('extends = "a156.19"\n[limits]\n', 2, "did you mean 'limit'?"),
        (f'extends = "a156.19"\n{REMINDER}{REMINDER}about = "a door"\n', 8, "about"),
        ('extends = "a156.20"\n', 1, "no shipped set"),
        ('extends = "a156.19"\n[limit.latching\n', 2, "not valid TOML"),
        ('extends = "a156.19"\n[limit.latching]\nstatus = "sure"\n', 3, "status"),
    ],
)
def test_a_wrong_file_is_named_with_line_and_reason(tmp_path, text, line, reason):
    with pytest.raises(LimitsError) as caught:
        parse_limits(text.encode(), tmp_path / "own.toml")
    assert (caught.value.line, reason in str(caught.value)) == (line, True), str(caught.value)


def test_a_note_of_ones_own_keeps_the_source(a156, tmp_path):
    text = b'extends = "a156.19"\n[limit.latching]\nnote = "look at the strike"\n'
    house = parse_limits(text, tmp_path / "house.toml")
    assert house.limit.latching.source == a156.limit.latching.source
    assert house.limit.latching.note == "look at the strike"


def test_a_set_of_ones_own_never_goes_by_the_name_of_the_standard(tmp_path):
    house = parse_limits(b'extends = "a156.19"\n', tmp_path / "house.toml")
    assert (house.name, house.title) == ("house", "house, on top of a156.19")
    same = parse_limits(b'extends = "a156.19"\n', tmp_path / "a156.19.toml")
    assert same.name == "a156.19, changed"


@pytest.mark.parametrize(
    ("text", "told"),
    [
        (
            "[limit.latching]\nvalue = 1.0\n",
            "latching, 10 degrees to closed: at least 1.0 s, looser than a156.19, at least 1.5 s",
        ),
        (
            "[limit.stall_force]\nvalue = 80\nunit = 'N'\n",
            "force that stops the leaf, opening or closing: at most 80 N, looser than a156.19, "
            "at most 15 lbf",
        ),
        (
            "[limit.hold_open]\nrecommendation = true\n",
            "hold open, fully open until it starts to close: at least 5.0 s, looser than "
            "a156.19, at least 5.0 s, required",
        ),
        ("[formula]\nround_up_to_s = 0.1\n", "looser than the formula of a156.19"),
        ("[table_two]\nextra_s = [0.5, 1.5, 2.0]\n", "looser than the table of a156.19"),
        ("[table_one]\nweights_lb = [120, 125, 150, 175, 200]\n", "the table of a156.19"),
        ("[limit.latching]\nvalue = 2.0\n", ""),
        ("[limit.stall_force]\nvalue = 66\nunit = 'N'\n", ""),
    ],
)
def test_a_value_looser_than_what_it_extends_is_told(tmp_path, text, told):
    house = parse_limits(f'extends = "a156.19"\n{text}{OURS}'.encode(), tmp_path / "house.toml")
    values = looser_values(house)
    assert len(values) == bool(told)
    assert not told or values[0].endswith(told)


def test_a_verdict_by_a_looser_value_says_so(tmp_path):
    text = f'extends = "a156.19"\n[limit.latching]\nvalue = 1.0\n{OURS}'
    house = parse_limits(text.encode(), tmp_path / "house.toml")
    (found,) = judge(read(a_job(), Quantity.LATCHING_TIME, "1.8"), house)
    assert (found.verdict, found.note) == (Verdict.PASS, "looser than a156.19, at least 1.5 s")
    assert "looser than a156.19, at least 1.5 s" in found.source


def test_an_unknown_set_lists_what_is_shipped():
    with pytest.raises(LimitsError, match=r"a156\.19"):
        load_limits("a156.99")
