"""Lists the menus that prompts can name, and the faults of one: ``handsfree controllers``."""

from __future__ import annotations

from pathlib import Path

import click
from rich import box
from rich.table import Table

from handsfree.cli.console import new_console
from handsfree.cli.file_faults import end_with_faults
from handsfree.cli.terminal import echo, echo_json
from handsfree.procedure.controller import controller_faults, load_controller, shipped_controllers


@click.group(invoke_without_command=True)
@click.option("--json", "as_json", is_flag=True, help="Print one JSON array.")
@click.pass_context
def controllers(ctx: click.Context, as_json: bool) -> None:
    """Lists the controller menus that come with the program.

    They are invented examples to copy.

    \b
    Examples:
      handsfree controllers
      handsfree controllers check my-controller.toml
    """
    if ctx.invoked_subcommand is not None:
        return
    shipped = [load_controller(name) for name in shipped_controllers()]
    if as_json:
        echo_json(
            [
                {
                    "name": each.name,
                    "title": each.title,
                    "language": each.language,
                    "settings": len(each.entries),
                }
                for each in shipped
            ]
        )
        return
    table = Table(box=box.SIMPLE_HEAD, padding=(0, 1, 0, 0))
    for head in ("name", "title", "language"):
        table.add_column(head, overflow="fold")
    table.add_column("settings", justify="right")
    for each in shipped:
        table.add_row(each.name, each.title, each.language, str(len(each.entries)))
    new_console(highlight=False).print(table)


@controllers.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")
def check(file: Path, as_json: bool) -> None:
    """Names every fault of a controller's file with its line.

    Exit code 2 when there is a fault.

    \b
    Example:
      handsfree controllers check my-controller.toml
    """
    end_with_faults(file, controller_faults(file), as_json=as_json)
    checked = load_controller(file)
    if as_json:
        settings = [
            {"setting": setting, **entry.model_dump(mode="json")}
            for setting, entry in checked.entries.items()
        ]
        echo_json({"file": str(file), "faults": [], "settings": settings})
        return
    echo(f"{file}: no faults, {len(checked.entries)} settings")
    for setting, entry in checked.entries.items():
        saved = f", {entry.save}" if entry.save else ""
        echo(f"  {setting}: {entry.say}, {entry.low} to {entry.high} by {entry.step}{saved}")
