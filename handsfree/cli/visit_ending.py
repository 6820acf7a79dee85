"""Ends a run of a visit: imports photos, writes the summary, says how to continue."""

from __future__ import annotations

from pathlib import Path

from rich.console import Console

from handsfree.cli.console import new_console
from handsfree.cli.output_file import keep_summary
from handsfree.cli.photos import take_in
from handsfree.journal.photo_files import DROPPED
from handsfree.journal.reader import read
from handsfree.journal.writer import Journal
from handsfree.language.wording import ENGLISH, Wording
from handsfree.reports.summary import summary_of
from handsfree.visit_record.visit_record import record_of


def take_photos(journal: Journal, console: Console) -> None:
    """Imports the pictures dropped during the visit, and prints a line for each."""
    for line in take_in(journal)[0]:
        console.print(line)


def finish(folder: Path, console: Console, w: Wording) -> None:
    """Writes the summary, and prints the verdict, the folder and how to continue."""
    record = record_of(read(folder))
    summed = summary_of(record)
    keep_summary(folder, summed)
    console.print()
    if w.language == ENGLISH:  # the summary is for the office, so it is in the office's language
        console.print(summed.verdict, style="bold")
    console.print(w.say("kept_in", folder=folder))
    said = sum(each.name == "photo" for each in record.visit_facts)
    if (missing := said - len(record.photos)) > 0:
        text = w.say("photos_missing", count=missing, folder=folder / DROPPED, visit=folder)
        console.print(text)
    if not summed.complete:
        console.print(w.say("go_on_with", folder=folder))


def visit_console() -> Console:
    """The console that shows a conversation, without any coloring or wrapping of its own."""
    return new_console(highlight=False, soft_wrap=True)
