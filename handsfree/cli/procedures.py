"""Lists the shipped procedures, and the faults of one: ``handsfree procedures``."""

from __future__ import annotations

from pathlib import Path

import click
from rich import box
from rich.table import Table

from handsfree.checks.number_format import counted
from handsfree.cli.console import new_console
from handsfree.cli.file_faults import end_with_faults
from handsfree.cli.terminal import echo, echo_json
from handsfree.language.wording import ENGLISH, languages
from handsfree.procedure.loader import faults_of, load_procedure, shipped_procedures


@click.group(invoke_without_command=True)
@click.option(
    "--language", type=click.Choice(languages()), help="Only those that speak this language."
)
@click.option("--json", "as_json", is_flag=True, help="Print one JSON array.")
@click.pass_context
def procedures(ctx: click.Context, language: str | None, as_json: bool) -> None:
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
    shipped = [
        (spoken, load_procedure(name, language=spoken))
        for spoken in (languages() if language is None else (language,))
        for name in shipped_procedures(spoken)
    ]
    if as_json:
        echo_json(
            [
                {
                    "name": each.name,
                    "title": each.title,
                    "language": spoken,
                    "stages": len(each.stages),
                    "steps": len(each.steps),
                }
                for spoken, each in shipped
            ]
        )
        return
    table = Table(box=box.SIMPLE_HEAD, padding=(0, 1, 0, 0))
    table.add_column("name", no_wrap=True)
    for head in ("title", "language"):
        table.add_column(head, overflow="fold")
    for head in ("stages", "steps"):
        table.add_column(head, justify="right")
    for spoken, each in shipped:
        counts = (str(len(each.stages)), str(len(each.steps)))
        table.add_row(each.name, each.title, spoken, *counts)
    new_console(highlight=False).print(table)


@procedures.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option(
    "--language",
    type=click.Choice(languages()),
    default=ENGLISH,
    show_default=True,
    help="The language of the procedure, and of the shipped parts that it includes.",
)
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")
def check(file: Path, language: str, as_json: bool) -> None:
    """Names every fault of a procedure with its line.

    Exit code 2 when there is a fault.

    \b
    Example:
      handsfree procedures check my-procedure.toml
    """
    end_with_faults(file, faults_of(file, language), as_json=as_json)
    checked = load_procedure(file, language=language)
    stages, steps = len(checked.stages), len(checked.steps)
    if as_json:
        echo_json({"file": str(file), "faults": [], "stages": stages, "steps": steps})
    else:
        echo(f"{file}: no faults, {counted(stages, 'stage')} and {counted(steps, 'step')}")
