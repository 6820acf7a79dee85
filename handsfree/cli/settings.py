"""Shows every setting, its value and where it comes from: ``handsfree settings``."""

from __future__ import annotations

from pathlib import Path

import click
from rich import box
from rich.table import Table

from handsfree.cli.console import new_console
from handsfree.cli.terminal import echo, echo_json
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
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")
@click.pass_context
def settings(ctx: click.Context, as_json: bool) -> None:
    """Shows every setting, its value and where it comes from.

    An environment variable overrides the file; the file overrides the default.

    \b
    Examples:
      handsfree settings
      handsfree settings set speech_level brief
      handsfree settings unset speech_level
    """
    if ctx.invoked_subcommand is not None:
        return
    if as_json:
        listed = [
            {**chosen.model_dump(mode="json"), "variable": variable(chosen.key)}
            for chosen in chosen_settings()
        ]
        echo_json({"file": str(settings_file()), "settings": listed})
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
    console.print(f"Settings file: {settings_file()}")


@settings.command(name="set")
@_KEY
@click.argument("value")
def set_(key: str, value: str) -> None:
    """Sets one setting in the file and leaves every other line unchanged.

    \b
    Example:
      handsfree settings set speech_rate 145
    """
    chosen = read_value(key, value)
    if key == "company_logo":
        from handsfree.reports.letterhead import read_logo  # slow to import

        logo = Path(value).resolve()
        read_logo(logo)
        chosen = str(logo)
    echo(f"{key} is set in {keep_setting(key, chosen)}")


@settings.command()
@_KEY
def unset(key: str) -> None:
    """Removes one setting from the file, so that its default applies.

    \b
    Example:
      handsfree settings unset speech_rate
    """
    echo(f"{key} is removed from {keep_setting(key, None)}")
