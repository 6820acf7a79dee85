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
@click.option("--schema", "form", flag_value="schema", help="The JSON Schema; needs no FOLDER.")
@click.option(
    "--out",
    type=click.Path(path_type=Path, dir_okay=False),
    help="The file to write; by default the output is printed.",
)
def export(folder: Path | None, form: str, out: Path | None) -> None:
    """Writes a visit for other programs: JSON, or the readings as CSV.

    Of a broken journal it writes the intact part and says where it is broken, and the exit code
    is 1.

    \b
    Example:
      handsfree export visits/harbour-hall --csv --out readings.csv
      handsfree export --schema
    """
    if form == "schema":
        _put(export_schema(), out)
        return
    if folder is None:
        raise click.UsageError("name the folder of a visit")
    visit = load_record(folder)
    # Spreadsheets recognize UTF-8 by a byte order mark.
    _put("\ufeff" + export_csv(visit) if form == "csv" else export_json(visit), out)
    end_broken(visit)


def _put(text: str, out: Path | None) -> None:
    content = text.encode("utf-8", "replace")
    if out is None and sys.stdout.isatty():
        echo(text.removeprefix("\ufeff"), nl=False)
    elif out is None:
        sys.stdout.buffer.write(content)
        sys.stdout.buffer.flush()
    else:
        write_out(out, content, "the export")
        echo(f"{out}: {len(content) / 1000:.0f} kB")
