"""Lists the guides of controllers, checks one, prints it for a door, makes one.

The command is ``handsfree controllers``.
"""

from __future__ import annotations

from pathlib import Path

import click
from rich import box
from rich.table import Table

from handsfree.checks.limits import shipped_limits
from handsfree.checks.number_format import counted
from handsfree.cli.console import new_console
from handsfree.cli.file_faults import end_with_faults
from handsfree.cli.output_file import write_out
from handsfree.cli.terminal import echo, echo_json
from handsfree.cli.visit_setup import language_option
from handsfree.controllers.guide import LEARN, Guide
from handsfree.controllers.guide_loader import guide_faults, load_guide, shipped_guides
from handsfree.controllers.guide_text import (
    DraftCode,
    DraftEntry,
    DraftValue,
    asked,
    drafted,
    entry_of,
    written,
)
from handsfree.controllers.printed_words import printed_words
from handsfree.controllers.worked_out import set_up_of
from handsfree.exit_codes import ExitCode
from handsfree.job.job import Job
from handsfree.job_file.loader import load_sheet
from handsfree.language.interpreter import Language
from handsfree.language.wording import languages
from handsfree.reports.set_up_sheet import set_up_pdf, set_up_png
from handsfree.visit_record.controller_set_up import AS_FOUND, SetUpRow
from handsfree.visit_record.load import load_record

OPEN = ("unknown", "missing")


@click.group(invoke_without_command=True)
@click.option("--json", "as_json", is_flag=True, help="Print one JSON array.")
@click.pass_context
def controllers(ctx: click.Context, as_json: bool) -> None:
    """Lists the controllers' guides that come with the program.

    They are invented examples to copy.

    \b
    Examples:
      handsfree controllers
      handsfree controllers check my-guide.toml
      handsfree controllers sheet my-guide.toml --job lobby.job.toml --out sheet.pdf
      handsfree controllers new my-guide.toml
      handsfree controllers draft visits/hh-0117 --out my-guide.toml
    """
    if ctx.invoked_subcommand is not None:
        return
    shipped = [
        load_guide(name, language) for language in languages() for name in shipped_guides(language)
    ]
    if as_json:
        echo_json(
            [
                {
                    "name": each.name,
                    "title": each.title,
                    "language": each.language,
                    "entries": len(each.set_up),
                    "settings": len(each.settings),
                    "codes": len(each.codes),
                }
                for each in shipped
            ]
        )
        return
    table = Table(box=box.SIMPLE_HEAD, padding=(0, 1, 0, 0))
    for head in ("name", "title", "language"):
        table.add_column(head, overflow="fold")
    for head in ("entries", "settings", "codes"):
        table.add_column(head, justify="right")
    for each in shipped:
        counts = (each.set_up, each.settings, each.codes)
        table.add_row(each.name, each.title, each.language, *(str(len(some)) for some in counts))
    new_console(highlight=False).print(table)


@controllers.command()
@click.argument("file", type=click.Path(path_type=Path))
@language_option
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")
def check(file: Path, language: str, as_json: bool) -> None:
    """Names every fault of a guide with its line, and every kind of door that it leaves open.

    Exit code 2 when there is a fault. --language is that of a shipped guide; a file names its own.

    \b
    Example:
      handsfree controllers check my-guide.toml
    """
    end_with_faults(file, guide_faults(file, language), as_json=as_json)
    guide = _guide(file, language)
    if as_json:
        parts = {"entries": guide.set_up, "settings": guide.settings, "codes": guide.codes}
        told = {
            name: [each.model_dump(mode="json", exclude={"place"}) for each in some]
            for name, some in parts.items()
        }
        echo_json({"file": str(file), "faults": [], **told})
        return
    echo(
        f"{file}: no faults, a value for every kind of door at each entry ({len(guide.set_up)}), "
        f"{counted(len(guide.settings), 'setting')}, {counted(len(guide.codes), 'code')}"
    )


@controllers.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--job", type=click.Path(path_type=Path), required=True, help="The job file (TOML).")
@click.option("--out", type=click.Path(path_type=Path), help="Write a PDF, or a PNG by its ending.")
def sheet(file: Path, job: Path, out: Path | None) -> None:
    """Works a guide out for the door of a job: every entry with its value, on one page to print.

    Without --out the entries are printed here. Exit code 1 when a value is not known yet, or the
    guide has none.

    \b
    Examples:
      handsfree controllers sheet heron --job lobby.job.toml
      handsfree controllers sheet my-guide.toml --job lobby.job.toml --out sheet.pdf
    """
    described = load_sheet(job, shipped_limits())
    guide = _guide(file, described.language)
    door = Job.open(described)
    worked = set_up_of(guide, door)
    if out is not None:
        png = out.suffix.lower() == ".png"
        content = set_up_png(guide, door, 110) if png else set_up_pdf(guide, door)
        write_out(out, content, "the sheet")
        echo(str(out))
    else:
        echo(f"{guide.title}: {door.opening.name}, {door.sheet.site}")
        for each in worked:
            value = each.value.say if each.value is not None else ""
            value = {"unknown": f"? {each.asks}", "missing": "not in the guide"}.get(
                each.state, value
            )
            seen = f"   shows {each.seen.mark}" if each.seen.mark else ""
            echo(f"  {each.step.called or '-':<16}{each.step.name:<32}{value}{seen}".rstrip())
    if any(each.state in OPEN for each in worked):
        raise click.exceptions.Exit(ExitCode.FOUND)


@controllers.command()
@click.argument("file", type=click.Path(path_type=Path))
@language_option
def new(file: Path, language: str) -> None:
    """Asks for the entries of a controller and writes a commented guide to complete.

    An empty answer ends a list. Nothing is overwritten.

    \b
    Example:
      handsfree controllers new my-guide.toml
    """
    if file.exists():
        raise click.UsageError(f"{file} is there already; name a file that is not")
    words = printed_words(language)

    def ask(name: str) -> str:
        return str(click.prompt(words[name], default="", show_default=False)).strip()

    write_out(file, written(asked(ask), language).encode(), "the guide")
    echo(f"{file}: check it with 'handsfree controllers check {file}'")


@controllers.command()
@click.argument("visit", type=click.Path(path_type=Path))
@click.option("--out", type=click.Path(path_type=Path), help="Write to this file.")
def draft(visit: Path, out: Path | None) -> None:
    """Makes a draft guide from the entries of a visit.

    The values are those of that one door: write down what they depend on.

    \b
    Example:
      handsfree controllers draft visits/hh-0117 --out my-guide.toml
    """
    record = load_record(visit)
    language = Language.load(language=record.sheet.language)
    entries = [_drafted(row, language) for row in record.set_up if _is_new(row)]
    codes = [DraftCode(shows=code.code, means=code.means) for code in record.codes]
    text = written(drafted(record.opening.name, entries, codes), language.wording.language)
    if out is None:
        echo(text.rstrip("\n"))
    else:
        write_out(out, text.encode(), "the draft")
        echo(str(out))


def _is_new(row: SetUpRow) -> bool:
    """True for an entry of the new controller that still counts."""
    return row.outcome == "made" and row.entry != LEARN and not row.entry.startswith(AS_FOUND)


def _drafted(row: SetUpRow, language: Language) -> DraftEntry:
    """The entry of a visit: its place and value if they are known, otherwise the words as said."""
    if row.called is None and row.value is None:
        return entry_of(row.name, language)
    values = (DraftValue(say=row.value, shows=row.shown),) if row.value else ()
    return DraftEntry(called=row.called, name=row.name, values=values)


def _guide(file: Path, language: str) -> Guide:
    """The shipped guide of that language, or the one in a file, in whatever language it is."""
    return load_guide(file, language if str(file) in shipped_guides(language) else None)
