"""Every command that prints a list also prints it as JSON, with the field names in the docs."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from handsfree.cli import main
from handsfree.controllers.guide_loader import load_guide, shipped_guides
from handsfree.diagnosis.tree_loader import shipped_trees
from handsfree.journal import reader
from handsfree.procedure.loader import shipped_procedures
from handsfree.settings import Settings

DOCS = (Path(__file__).parents[2] / "docs" / "commands.md").read_text(encoding="utf-8")
BROKEN = 'title = "x"\nnonsense = 1\n[[stage]]\nname = "s"\nsteps = ["nowhere"]\n'


def printed(*arguments: str, code: int = 0):
    done = CliRunner().invoke(main, list(arguments))
    assert done.exit_code == code, done.output
    return json.loads(done.stdout)


def documented(names) -> None:
    for name in names:
        assert f"`{name}`" in DOCS, f"the field {name} is not in docs/commands.md"


def test_controllers():
    listed = printed("controllers", "--json")
    assert [each["name"] for each in listed] == [*shipped_guides("en"), *shipped_guides("es")]
    assert set(listed[0]) == {"name", "title", "language", "entries", "settings", "codes"}
    documented(listed[0])


def test_a_controller_without_faults():
    found = printed("controllers", "check", "heron", "--json")
    guide = load_guide("heron")
    assert found["faults"] == []
    assert [each["id"] for each in found["entries"]] == [each.id for each in guide.set_up]
    assert [each["id"] for each in found["settings"]] == [each.id for each in guide.settings]
    assert [each["means"] for each in found["codes"]] == [each.means for each in guide.codes]
    documented(found)


@pytest.mark.parametrize("command", ["controllers", "procedures", "search"])
def test_faults_of_a_file(command, tmp_path):
    file = tmp_path / "wrong.toml"
    file.write_text(BROKEN, encoding="utf-8")
    found = printed(command, "check", str(file), "--json", code=2)
    assert found["file"] == str(file)
    assert set(found["faults"][0]) == {"file", "line", "message", "way_out"}
    assert any(fault["line"] == 2 for fault in found["faults"])
    documented(found["faults"][0])


def test_search():
    listed = printed("search", "--json")
    assert [each["name"] for each in listed] == list(shipped_trees())
    found = printed("search", "check", "slams", "--json")
    assert found["faults"] == [] and found["causes"] == 6
    documented(listed[0])


def test_procedures():
    listed = printed("procedures", "--language", "es", "--json")
    assert [each["name"] for each in listed] == list(shipped_procedures("es"))
    assert {each["language"] for each in listed} == {"es"}
    assert set(listed[0]) == {"name", "title", "language", "stages", "steps"}
    documented(listed[0])


def test_a_procedure_without_faults():
    found = printed("procedures", "check", shipped_procedures("en")[0], "--json")
    assert found["faults"] == [] and found["steps"] > found["stages"] > 0


def test_settings(tmp_path, monkeypatch):
    monkeypatch.setenv("HANDSFREE_SETTINGS", str(tmp_path / "settings.toml"))
    found = printed("settings", "--json")
    assert found["file"] == str(tmp_path / "settings.toml")
    assert [each["key"] for each in found["settings"]] == list(Settings.model_fields)
    assert set(found["settings"][0]) == {"key", "value", "origin", "variable"}
    documented(found["settings"][0])


def test_phrases():
    listed = printed("phrases", "--json")
    assert {"affirm"} <= {each["kind"] for each in listed}
    assert set(listed[0]) == {"group", "kind", "part", "about", "said", "does"}
    documented(listed[0])


def test_doors_and_faults_of_a_rehearsal():
    found = printed("rehearse", "--list", "--json")
    assert set(found["doors"][0]) == {"name", "title", "leaves"}
    assert set(found["faults"][0]) == {"name", "says", "needs"}
    documented([*found["doors"][0], *found["faults"][0]])


def test_json_of_a_rehearsal_goes_with_the_list_alone():
    assert CliRunner().invoke(main, ["rehearse", "--json"]).exit_code == 2


def test_what_verify_finds_is_documented():
    documented(reader.Verification.model_fields)
