"""Writes the owner's record and the door label as PDF: ``handsfree record``, ``label``."""

from __future__ import annotations

from pathlib import Path

import click

from handsfree.cli.output_file import end_broken, write_out
from handsfree.cli.terminal import echo
from handsfree.language.wording import languages
from handsfree.reports.door_label import label_pdf
from handsfree.reports.letterhead import Letterhead, Paper, own_letterhead
from handsfree.reports.record_pdf import record_pdf
from handsfree.visit_record.load import load_record

RECORD = "record.pdf"
LABEL = "label.pdf"


@click.command()
@click.argument("folder", type=click.Path(path_type=Path))
@click.option(
    "--language",
    metavar="CODE",
    help="'en', 'es', or two side by side: 'en+es'; by default the visit's language.",
)
@click.option(
    "--paper",
    type=click.Choice(["letter", "a4"]),
    help="By default the setting 'paper', else the usual one of this place.",
)
@click.option(
    "--out",
    type=click.Path(path_type=Path, dir_okay=False),
    help=f"The file to write; by default {RECORD} in the visit's folder.",
)
def record(folder: Path, language: str | None, paper: Paper | None, out: Path | None) -> None:
    """Writes the owner's record as PDF.

    The verdict first; what was wrong, done and left; readings as found and as left; the
    controller's set-up; the daily checks of this door; lines to sign; and a code for a phone. Name,
    address and logo of your company come from the settings. Of a broken journal it holds the
    intact part and says so in its first line, and the exit code is 1.

    \b
    Example:
      handsfree record visits/harbour-hall
      handsfree record visits/harbour-hall --language en+es
    """
    chosen = _languages(language)
    head = _letterhead(paper)
    visit = load_record(folder)
    _write(record_pdf(visit, head, chosen), out or folder / RECORD, "the record")
    end_broken(visit)


@click.command()
@click.argument("folder", type=click.Path(path_type=Path))
@click.option("--language", metavar="CODE", help="'en' or 'es'; by default the visit's language.")
@click.option(
    "--out",
    type=click.Path(path_type=Path, dir_okay=False),
    help=f"The file to write; by default {LABEL} in the visit's folder.",
)
def label(folder: Path, language: str | None, out: Path | None) -> None:
    """Writes the label for the door: last and next service, and a code.

    A PDF of 100 by 50 mm; it has the verdict too, and the code is the record's, for a phone.

    \b
    Example:
      handsfree label visits/harbour-hall
    """
    chosen = _languages(language)
    if len(chosen) > 1:
        raise click.UsageError("a label has one language")
    head = _letterhead(None)
    visit = load_record(folder)
    _write(label_pdf(visit, head, *chosen), out or folder / LABEL, "the label")
    end_broken(visit)


def _letterhead(paper: Paper | None) -> Letterhead:
    head = own_letterhead()
    return head if paper is None else head.model_copy(update={"paper": paper})


def _languages(named: str | None) -> tuple[str, ...]:
    """The languages of 'en+es'. Raises UsageError for an unknown language, or for more than two."""
    chosen = tuple(dict.fromkeys(named.lower().split("+"))) if named is not None else ()
    known = languages()
    if any(each not in known for each in chosen) or len(chosen) > 2:
        example = f"{known[0]}+{known[1]}" if len(known) > 1 else known[0]
        raise click.UsageError(
            f"--language takes {', '.join(known)}, or two of them, such as {example}"
        )
    return chosen


def _write(content: bytes, out: Path, what: str) -> None:
    write_out(out, content, what)
    echo(f"{out}: {len(content) / 1000:.0f} kB")
