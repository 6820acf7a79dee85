"""Docs and commands do not drift apart."""

from __future__ import annotations

from pathlib import Path

import click
import pytest

from handsfree.cli import main

ROOT = Path(__file__).parents[2]
DOCS = "\n".join(
    path.read_text(encoding="utf-8")
    for path in [ROOT / "README.md", ROOT / "DEVELOPERS.md", *(ROOT / "docs").glob("*.md")]
)


def commands(group: click.Group, above: str = "handsfree") -> list[tuple[str, click.Command]]:
    found = []
    context = click.Context(group)
    for name in group.list_commands(context):
        command = group.get_command(context, name)
        assert command is not None
        whole = f"{above} {name}"
        if isinstance(command, click.Group):
            found += commands(command, whole)
        else:
            found.append((whole, command))
    return found


@pytest.mark.parametrize(("name", "command"), commands(main))
def test_a_command_is_documented_and_its_help_shows_an_example(name, command):
    assert name in DOCS, f"'{name}' stands in no document"
    assert command.help and f"  {name}" in command.help, f"'{name} --help' shows no example"
