"""Writes a visit for other programs: ``handsfree export``."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from handsfree.cli.output_file import end_broken, write_out
from handsfree.cli.terminal import echo
from handsfree.reports.export import export_csv, export_json, export_schema
from handsfree.visit_record.load import load_record


@click.command()
@click.argument("folder", required=False, type=click.Path(path_type=Path))
@click.option("--json", "form", flag_value="json", default=True, help="Everything (the default).")
@click.option("--csv", "form", flag_value="csv", help="The readings as a table, one per row.")
@click.option("--xlsx", "form", flag_value="xlsx", help="The readings as a workbook; needs --out.")
@click.option(
    "--calendar", "form", flag_value="calendar", help="The next service as an iCalendar file."
)
@click.option("--schema", "form", flag_value="schema", help="The JSON Schema; needs no FOLDER.")
@click.option(
    "--out",
    type=click.Path(path_type=Path, dir_okay=False),
    help="The file to write; by default the output is printed.",
)
def export(folder: Path | None, form: str, out: Path | None) -> None:
    """Writes a visit for other programs: JSON, CSV, XLSX, calendar.

    Of a broken journal it writes the intact part and says where it is broken, and the exit code
    is 1.

    \b
    Example:
      handsfree export visits/harbour-hall --csv --out readings.csv
      handsfree export visits/harbour-hall --xlsx --out readings.xlsx
      handsfree export visits/harbour-hall --calendar --out next-service.ics
      handsfree export --schema
    """
    if form == "schema":
        _put(export_schema(), out)
        return
    if folder is None:
        raise click.UsageError("name the folder of a visit")
    if form == "xlsx" and out is None and sys.stdout.isatty():
        raise click.UsageError("a workbook is no text for a screen: name its file with --out")
    visit = load_record(folder)
    match form:
        case "csv":  # spreadsheets recognize UTF-8 by a byte order mark
            _put("\ufeff" + export_csv(visit), out)
        case "xlsx":
            from handsfree.reports.export_xlsx import export_xlsx

            _put_bytes(export_xlsx(visit), out)
        case "calendar":
            from handsfree.reports.calendar_file import calendar_file

            _put(calendar_file(visit).decode(), out)
        case _:
            _put(export_json(visit), out)
    end_broken(visit)


def _put(text: str, out: Path | None) -> None:
    if out is None and sys.stdout.isatty():
        echo(text.removeprefix("\ufeff"), nl=False)
    else:
        _put_bytes(text.encode("utf-8", "replace"), out)


def _put_bytes(content: bytes, out: Path | None) -> None:
    if out is None:
        sys.stdout.buffer.write(content)
        sys.stdout.buffer.flush()
    else:
        write_out(out, content, "the export")
        echo(f"{out}: {len(content) / 1000:.0f} kB")
