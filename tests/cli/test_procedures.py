"""handsfree procedures: the list, and every fault of a file."""

from __future__ import annotations

import re
from pathlib import Path

from click.testing import CliRunner, Result

from handsfree.cli import main
from handsfree.procedure.load import SHIPPED, shipped_procedures

SOUND = (SHIPPED / "en" / "controller-replaced-pair.toml").read_text(encoding="utf-8")


def procedures(*arguments: str) -> Result:
    return CliRunner().invoke(main, ["procedures", *arguments])


def written(folder: Path, text: str) -> str:
    file = folder / "mine.toml"
    file.write_text(text, encoding="utf-8")
    return str(file)


def test_those_that_ship_are_listed_and_sound():
    listed = procedures()
    assert listed.exit_code == 0
    for name in shipped_procedures():
        assert name in listed.output
        assert procedures("check", name).exit_code == 0


def test_every_fault_is_named_with_its_line_in_order(tmp_path):
    text = SOUND.replace('quantity = "leaf_height"', 'quantity = "leaf_hight"')
    text = text.replace('applies = ["same_way"]', 'applies = ["same_way", "single"]')
    text = text.replace('id = "ladder-safe"', 'id = "people-safe"')
    text = text.replace("ten degrees to shut", "10 degrees to shut")
    result = procedures("check", written(tmp_path, text))
    assert result.exit_code == 2
    named = re.findall(r"mine.toml, line (\d+): (.+)", result.output)
    assert [int(line) for line, _ in named] == sorted(int(line) for line, _ in named)
    lines = text.splitlines()
    for (line, reason), (found, stands) in zip(
        named,
        [
            ("duplicate id 'people-safe'", 'id = "people-safe"'),
            ("unknown quantity 'leaf_hight'", "leaf_hight"),
            ("'same_way' and 'single' are never true together", "same_way"),
            ("'1' in prompt cannot be spoken", "10 degrees"),
            ("'0' in prompt cannot be spoken", "10 degrees"),
        ],
        strict=True,
    ):
        assert found in reason
        assert stands in lines[int(line) - 1]


def test_a_file_that_is_none_is_one_line(tmp_path):
    for text, reason in (
        ("name = ", "no valid TOML"),
        ('name = "a"\ntitle = "b"\n', "no [[stage]]"),
    ):
        result = procedures("check", written(tmp_path, text))
        assert result.exit_code == 2 and result.output.count("\n") == 1 and reason in result.output
    assert procedures("check", str(tmp_path / "none.toml")).exit_code == 2
