"""handsfree controllers: the list, and every fault of a file."""

from __future__ import annotations

from click.testing import CliRunner, Result

from handsfree.cli import main
from handsfree.procedure.controller import SHIPPED, shipped_controllers


def controllers(*arguments: str) -> Result:
    return CliRunner().invoke(main, ["controllers", *arguments])


def test_those_that_ship_are_listed_and_sound():
    listed = controllers()
    assert listed.exit_code == 0
    for name in shipped_controllers():
        assert name in listed.output
        assert controllers("check", name).exit_code == 0


def test_every_fault_is_named_with_its_line(tmp_path):
    text = (SHIPPED / "mariner-two.toml").read_text(encoding="utf-8")
    text = text.replace("[closing_speed]", "[closing_sped]").replace("menu twelve", "menu 12")
    file = tmp_path / "mine.toml"
    file.write_text(text, encoding="utf-8")
    result = controllers("check", str(file))
    lines = text.splitlines()
    assert result.exit_code == 2
    assert [
        (line.split("line ")[1].split(":")[0], line.split(": ")[2])
        for line in result.output.splitlines()
    ] == [
        (
            str(lines.index('say = "menu 12"') + 1),
            "'1' in say cannot be spoken (write it as words)",
        ),
        (
            str(lines.index('say = "menu 12"') + 1),
            "'2' in say cannot be spoken (write it as words)",
        ),
        (
            str(lines.index("[closing_sped]") + 1),
            "unknown setting 'closing_sped' (did you mean 'closing_speed'?)",
        ),
    ]
