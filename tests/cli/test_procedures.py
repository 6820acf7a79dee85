"""handsfree procedures: the list, and every fault of a file."""

from __future__ import annotations

import re
import shutil
from importlib import import_module
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from handsfree.cli import main
from handsfree.procedure.loader import SHIPPED, shipped_procedures


def procedures(*arguments: str) -> Result:
    return CliRunner().invoke(main, ["procedures", *arguments])


def written(folder: Path, text: str) -> str:
    file = folder / "mine.toml"
    file.write_text(text, encoding="utf-8")
    return str(file)


@pytest.mark.slow
def test_those_that_ship_are_listed_and_sound():
    listed = procedures()
    assert listed.exit_code == 0
    for name in shipped_procedures():
        assert name in listed.output
        assert procedures("check", name).exit_code == 0


@pytest.mark.slow
def test_those_of_one_language_are_listed_alone():
    listed = procedures("--language", "es").output
    assert "Revisión diaria" in listed and "Daily walk check" not in listed
    both = procedures().output
    assert "Revisión diaria" in both and "Daily walk check" in both


@pytest.mark.parametrize(
    "arguments", [("--language", "es", "check"), ("check", "--language", "es")]
)
def test_the_language_of_a_file_may_stand_before_check_or_behind_it(monkeypatch, arguments):
    asked = []
    module = import_module("handsfree.cli.procedures")
    monkeypatch.setattr(module, "faults_of", lambda file, language: asked.append(language) or ())
    assert procedures(*arguments, "daily-check").exit_code == 0
    assert asked == ["es"]


def test_every_fault_is_named_with_its_line_in_order(tmp_path):
    shutil.copytree(SHIPPED / "en", tmp_path, dirs_exist_ok=True)
    survey = tmp_path / "parts" / "leaf-size.toml"
    text = survey.read_text(encoding="utf-8")
    text = text.replace('quantity = "leaf_height"', 'quantity = "leaf_hight"')
    text = text.replace('id = "width"', 'id = "people-safe"')
    text = text.replace("heavier one", "value + 10 percent")
    survey.write_text(text, encoding="utf-8")
    result = procedures("check", str(tmp_path / "controller-replaced-pair.toml"))
    assert result.exit_code == 2
    named = re.findall(r"leaf-size.toml, line (\d+): (.+)", result.output)
    lines = text.splitlines()
    for (line, reason), (found, stands) in zip(
        named,
        [
            ("duplicate id 'people-safe', first used on", 'id = "people-safe"'),
            ("unknown quantity 'leaf_hight'", "leaf_hight"),
            ("'+' in prompt cannot be spoken", "+ 10 percent"),
            ("'1' in prompt cannot be spoken", "+ 10 percent"),
            ("'0' in prompt cannot be spoken", "+ 10 percent"),
        ],
        strict=True,
    ):
        assert found in reason
        assert stands in lines[int(line) - 1]


def test_a_file_that_is_none_is_one_line(tmp_path):
    for text, reason in (
        ("name = ", "not valid TOML"),
        ('name = "a"\ntitle = "b"\n', "no [[stage]]"),
    ):
        result = procedures("check", written(tmp_path, text))
        assert result.exit_code == 2 and result.output.count("\n") == 1 and reason in result.output
    assert procedures("check", str(tmp_path / "none.toml")).exit_code == 2
