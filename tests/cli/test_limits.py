"""handsfree limits: every set and every value with its source."""

from __future__ import annotations

import json

import pytest
from click.testing import CliRunner

from handsfree.cli import main


def limits(*arguments: str) -> tuple[int, str]:
    result = CliRunner().invoke(main, ["limits", *arguments])
    return result.exit_code, result.output


def test_all_sets_are_listed_with_status_clause_and_reminders():
    code, out = limits()
    assert code == 0
    for words in ("a156.19", "en16005", "4.1.1 (1997)", "memory", "derived", "Reminders"):
        assert words in out


@pytest.mark.parametrize("name", ["a156.19", "en16005"])
def test_the_same_as_json(name):
    (only,) = json.loads(limits(name, "--json")[1])["sets"]
    assert only["name"] == name and len(only["sha256"]) == 64
    energy = next(value for value in only["values"] if value["key"] == "energy")
    assert energy["status"] == "seen" and energy["source"]


def test_a_house_file_shows_its_own_values_over_the_standards(tmp_path):
    house = tmp_path / "house.toml"
    house.write_text(
        'extends = "a156.19"\nname = "house"\n[limit.latching]\nvalue = 2.0\n'
        'source = "our own"\nstatus = "house rule"\n'
    )
    out = limits(str(house))[1]
    assert "house, on top of a156.19" in out and "house rule" in out


def test_a_wrong_file_is_named_with_its_line(tmp_path):
    house = tmp_path / "house.toml"
    house.write_text('extends = "a156.19"\n[limit.latching]\nvalue = -2\n')
    code, out = limits(str(house))
    assert code == 2
    assert f"{house}, line 3: limit.latching.value" in out
