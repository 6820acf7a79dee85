"""handsfree settings: every setting with its value and where that comes from."""

from __future__ import annotations

import click
from rich import box
from rich.table import Table

from handsfree.cli.terminal import echo, new_console
from handsfree.settings import (
    Settings,
    chosen_settings,
    keep_setting,
    read_value,
    settings_file,
    variable,
)

_KEY = click.argument("key", type=click.Choice(list(Settings.model_fields)))


@click.group(invoke_without_command=True)
@click.pass_context
def settings(ctx: click.Context) -> None:
    """Shows every setting: its value, where it comes from, and its variable.

    A variable of the environment goes before the file, the file before the default.

    \b
    Examples:
      handsfree settings
      handsfree settings set speech_level brief
      handsfree settings unset speech_level
    """
    if ctx.invoked_subcommand is not None:
        return
    table = Table(box=box.SIMPLE_HEAD, padding=(0, 1, 0, 0))
    for head in ("key", "value", "from", "variable"):
        table.add_column(head, overflow="fold")
    for chosen in chosen_settings():
        value = "" if chosen.value is None else str(chosen.value).replace("True", "true")
        table.add_row(
            chosen.key, value.replace("False", "false"), chosen.origin, variable(chosen.key)
        )
    console = new_console(highlight=False, soft_wrap=True)
    console.print(table)
    console.print(f"The file is {settings_file()}")


@settings.command(name="set")
@_KEY
@click.argument("value")
def set_(key: str, value: str) -> None:
    """Writes one setting into the file; every other line stays as it is.

    \b
    Example:
      handsfree settings set speech_rate 145
    """
    echo(f"{key} is kept in {keep_setting(key, read_value(key, value))}")


@settings.command()
@_KEY
def unset(key: str) -> None:
    """Takes one setting out of the file, so that its default holds.

    \b
    Example:
      handsfree settings unset speech_rate
    """
    echo(f"{key} is taken out of {keep_setting(key, None)}")
