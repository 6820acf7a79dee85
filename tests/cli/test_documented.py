"""The docs and the commands agree."""

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


def commands(group: click.Group, name: str, above: str) -> list[tuple[str, click.Command]]:
    """The command with a name, or those below it."""
    command = group.get_command(click.Context(group), name)
    assert command is not None
    whole = f"{above} {name}"
    if not isinstance(command, click.Group):
        return [(whole, command)]
    below = command.list_commands(click.Context(command))
    return [found for each in below for found in commands(command, each, whole)]


@pytest.mark.parametrize("top", main.list_commands(click.Context(main)))
def test_a_command_is_documented_and_its_help_shows_an_example(top):
    """Collected by name: the modules of the commands are imported where this test runs."""
    for name, command in commands(main, top, "handsfree"):
        assert name in DOCS, f"'{name}' stands in no document"
        assert command.help and f"  {name}" in command.help, f"'{name} --help' shows no example"
