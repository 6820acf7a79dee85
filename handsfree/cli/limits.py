"""Lists the limit sets and every value with its source: ``handsfree limits``."""

from __future__ import annotations

import json

import click
from rich import box
from rich.console import Console
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from handsfree.checks.limit_rows import Row, limit_rows, looser_values
from handsfree.checks.limit_set import LimitSet, TableOne
from handsfree.checks.limits import load_limits, shipped_limits
from handsfree.cli.check_text import reminder_line
from handsfree.cli.console import new_console
from handsfree.cli.terminal import echo


@click.command()
@click.argument("name", required=False, metavar="[NAME|FILE]")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")
def limits(name: str | None, as_json: bool) -> None:
    """Lists the limit sets, with the source of every value.

    Name a set, or a file of your own, to see that one alone. Each value has its clause, edition
    and status.

    \b
    Examples:
      handsfree limits
      handsfree limits en16005
      handsfree limits house.toml --json
    """
    sets = [load_limits(one) for one in ([name] if name is not None else shipped_limits())]
    if as_json:
        bodies = [
            {
                "name": one.name,
                "title": one.title,
                "extends": one.extends,
                "sha256": one.sha256,
                "looser": looser_values(one),
                "values": [row.model_dump() for row in limit_rows(one)],
                "table_one": one.table_one.model_dump(mode="json") if one.table_one else None,
                "reminders": [reminder.model_dump(mode="json") for reminder in one.reminder],
            }
            for one in sets
        ]
        echo(json.dumps({"sets": bodies}))
        return
    console = new_console(highlight=False)
    for one in sets:
        _show(console, one)


def _show(console: Console, shown: LimitSet) -> None:
    rows = limit_rows(shown)
    base = f", on top of {shown.extends}" if shown.extends else ""
    console.print(f"{shown.name}{base}: {shown.title}", style="bold", markup=False)
    table = Table(box=box.SIMPLE_HEAD, padding=(0, 1, 0, 0))
    for head in ("what", "value", "clause", "status", "note"):
        table.add_column(head, overflow="fold")
    for row in rows:
        status = row.status
        if row.binding != "requirement":
            status = f"{status}; recommended"
        table.add_row(row.what, row.value, row.where, status, _note(row, shown))
    console.print(table)
    if shown.table_one is not None:
        console.print(_grid(shown.table_one))
    for looser in looser_values(shown):
        console.print(f"Looser: {looser}.", style="yellow")
    if shown.reminder:
        console.print("Reminders, no rulings:")
        for reminder in shown.reminder:
            line = Text(f"{reminder.about}: {reminder_line(reminder)}")
            console.print(Padding(line, (0, 0, 0, 2)))
    console.print(f"sha256 {shown.sha256}\n", style="dim")


def _note(row: Row, shown: LimitSet) -> str:
    """The note, with the source unless it is the standard named in the title."""
    source = "" if shown.title.startswith(row.source) else row.source
    return "; ".join(filter(None, (source, row.note)))


def _grid(grid: TableOne) -> Table:
    table = Table(title="Least travel time in s", title_justify="left")
    for head in ("width", *(f"{weight} lb" for weight in grid.weights_lb)):
        table.add_column(head)
    for width, seconds in zip(grid.widths_in, grid.seconds, strict=True):
        table.add_row(f"{width} in", *(str(one) for one in seconds))
    return table
