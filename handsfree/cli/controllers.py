"""handsfree controllers: the menus that prompts can name, and what is wrong with one."""

from __future__ import annotations

import sys
from pathlib import Path

import click
from rich import box
from rich.table import Table

from handsfree.cli.terminal import echo, new_console
from handsfree.procedure.controller import controller_faults, load_controller, shipped_controllers


@click.group(invoke_without_command=True)
@click.pass_context
def controllers(ctx: click.Context) -> None:
    """Lists the controllers that come with the program: an invented example to copy.

    \b
    Examples:
      handsfree controllers
      handsfree controllers check my-controller.toml
    """
    if ctx.invoked_subcommand is not None:
        return
    table = Table(box=box.SIMPLE_HEAD, padding=(0, 1, 0, 0))
    for head in ("name", "title", "language"):
        table.add_column(head, overflow="fold")
    table.add_column("settings", justify="right")
    for name in shipped_controllers():
        shipped = load_controller(name)
        table.add_row(name, shipped.title, shipped.language, str(len(shipped.entries)))
    new_console(highlight=False).print(table)


@controllers.command()
@click.argument("file", type=click.Path(path_type=Path))
def check(file: Path) -> None:
    """Names every fault of a controller's file with its line; exit code 2 when there is one.

    \b
    Example:
      handsfree controllers check my-controller.toml
    """
    faults = controller_faults(file)
    for fault in faults:
        echo(f"handsfree: {fault}", err=True)
    if faults:
        sys.exit(2)
    sound = load_controller(file)
    echo(f"{file}: sound, {len(sound.entries)} settings")
    for setting, entry in sound.entries.items():
        kept = f", {entry.save}" if entry.save else ""
        echo(f"  {setting}: {entry.say}, {entry.low} to {entry.high} by {entry.step}{kept}")
