"""handsfree procedures: which there are, and what is wrong with one."""

from __future__ import annotations

import sys
from pathlib import Path

import click
from rich import box
from rich.table import Table

from handsfree.cli.terminal import echo, new_console
from handsfree.language.wording import ENGLISH, languages
from handsfree.procedure.loader import faults_of, load_procedure, shipped_procedures


@click.group(invoke_without_command=True)
@click.option(
    "--language", type=click.Choice(languages()), help="Only those that speak this language."
)
@click.pass_context
def procedures(ctx: click.Context, language: str | None) -> None:
    """Lists the procedures that come with the program.

    \b
    Examples:
      handsfree procedures
      handsfree procedures --language es
      handsfree procedures check my-procedure.toml
    """
    if language is not None:
        ctx.default_map = {"check": {"language": language}}
    if ctx.invoked_subcommand is not None:
        return
    table = Table(box=box.SIMPLE_HEAD, padding=(0, 1, 0, 0))
    table.add_column("name", no_wrap=True)
    for head in ("title", "language"):
        table.add_column(head, overflow="fold")
    for head in ("stages", "steps"):
        table.add_column(head, justify="right")
    for spoken in languages() if language is None else (language,):
        for name in shipped_procedures(spoken):
            shipped = load_procedure(name, language=spoken)
            counts = (str(len(shipped.stages)), str(len(shipped.steps)))
            table.add_row(name, shipped.title, spoken, *counts)
    new_console(highlight=False).print(table)


@procedures.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option(
    "--language",
    type=click.Choice(languages()),
    default=ENGLISH,
    show_default=True,
    help="The language that it speaks, and whose shipped parts it includes.",
)
def check(file: Path, language: str) -> None:
    """Names every fault of a procedure with its line; exit code 2 when there is one.

    \b
    Example:
      handsfree procedures check my-procedure.toml
    """
    faults = faults_of(file, language)
    for fault in faults:
        echo(f"handsfree: {fault}", err=True)
    if faults:
        sys.exit(2)
    sound = load_procedure(file, language=language)
    echo(f"{file}: sound, {len(sound.stages)} stages and {len(sound.steps)} steps")
