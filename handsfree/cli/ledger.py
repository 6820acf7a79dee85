"""Keeps many visits in one database, to query across doors and years: ``handsfree ledger``."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable, Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import click

from handsfree.cli.terminal import echo
from handsfree.exit_codes import ExitCode
from handsfree.job.quantity import Quantity
from handsfree.job.record import Record
from handsfree.ledger import queries
from handsfree.ledger.database import open_ledger
from handsfree.ledger.load import add, rebuild
from handsfree.ledger.read_visits import REFUSED, AddResult

_url = click.option(
    "--url",
    envvar="HANDSFREE_LEDGER",
    help="The ledger's address: sqlite:///FILE or postgresql://USER@HOST/NAME; by default "
    "$HANDSFREE_LEDGER, else a file among the user's data.",
)
_json = click.option("--json", "as_json", is_flag=True, help="Print one JSON array.")
_most = click.option(
    "--most",
    type=click.IntRange(1, 1_000_000),
    default=queries.MOST,
    show_default=True,
    help="Maximum number of lines.",
)
_rehearsals = click.option("--rehearsals", is_flag=True, help="Include rehearsals.")
_folders = click.argument("folders", nargs=-1, required=True, type=click.Path(path_type=Path))


def _asks(command: Callable[..., Any]) -> Callable[..., Any]:
    """Adds the options common to all queries."""
    return _url(_json(_most(command)))


@click.group()
def ledger() -> None:
    """Answers questions across many visits, from one database.

    The ledger holds only what the journals hold. It is an SQLite file or, for an office with
    branches, a PostgreSQL database (--url). Put a password in $PGPASSWORD or ~/.pgpass.

    \b
    Example:
      handsfree ledger add visits
      handsfree ledger due --within 30
    """


@ledger.command("add")
@_folders
@_url
@_json
def add_(folders: tuple[Path, ...], url: str | None, as_json: bool) -> None:
    """Adds every visit at or below the folders.

    Adding a visit twice changes nothing; a visit that has been amended since is replaced. Exit code
    1 when a visit was refused: its journal is broken, or differs from the known one.

    \b
    Example:
      handsfree ledger add visits
    """
    with open_ledger(url) as opened:
        came: list[AddResult] = []
        for each in add(opened, folders):
            _tell(each, as_json)
            came.append(each)
    _end(came, as_json)


@ledger.command("rebuild")
@_folders
@_url
@_json
def rebuild_(folders: tuple[Path, ...], url: str | None, as_json: bool) -> None:
    """Empties the ledger and fills it from the journals, in one transaction.

    \b
    Example:
      handsfree ledger rebuild visits
    """
    came = rebuild(url, folders)
    for each in came:
        _tell(each, as_json)
    _end(came, as_json)


@ledger.command()
@click.option(
    "--within", type=click.IntRange(0), default=30, show_default=True, help="Days from today."
)
@_asks
def due(within: int, most: int, as_json: bool, url: str | None) -> None:
    """Lists openings whose next service is due, the longest overdue first.

    The due date is the one agreed on in the last finished visit, else twelve months after it.

    \b
    Example:
      handsfree ledger due --within 60
    """
    with open_ledger(url, make=False) as opened:
        found = queries.due(opened, datetime.now(UTC).date(), within, most)
    _show(found, as_json, _due_line, "Nothing is due.")


@ledger.command()
@click.argument("words", nargs=-1, required=True)
@click.option(
    "--quantity",
    type=click.Choice([each.value for each in Quantity]),
    help="Only this quantity.",
)
@_rehearsals
@_asks
def history(
    words: tuple[str, ...],
    quantity: str | None,
    rehearsals: bool,
    most: int,
    as_json: bool,
    url: str | None,
) -> None:
    """Lists the readings of one opening over its visits, newest visit first.

    WORDS are words of its name and site, enough to identify it.

    \b
    Example:
      handsfree ledger history main entrance --quantity closing_time
    """
    with open_ledger(url, make=False) as opened:
        found = queries.history(opened, " ".join(words), quantity, most, rehearsals=rehearsals)
    _show(found, as_json, _past_line, "It has no readings.")


@ledger.command()
@_rehearsals
@_asks
def failing(rehearsals: bool, most: int, as_json: bool, url: str | None) -> None:
    """Lists what the latest visit to each opening left failing or too close to call.

    \b
    Example:
      handsfree ledger failing
    """
    with open_ledger(url, make=False) as opened:
        found = queries.failing(opened, most, rehearsals=rehearsals)
    _show(found, as_json, _failing_line, "Nothing fails.")


@ledger.command()
@click.argument("words", nargs=-1, required=True)
@_rehearsals
@_asks
def search(
    words: tuple[str, ...], rehearsals: bool, most: int, as_json: bool, url: str | None
) -> None:
    """Finds visits with all of these words in site, opening, reference, technician or notes.

    \b
    Example:
      handsfree ledger search okoro pivot
    """
    with open_ledger(url, make=False) as opened:
        found = queries.search(opened, " ".join(words), most, rehearsals=rehearsals)
    _show(found, as_json, _found_line, "No visit has all of these words.")


def _tell(each: AddResult, as_json: bool) -> None:
    """Prints one line about a folder; a refusal goes to stderr."""
    refused = each.came in REFUSED
    if refused or not as_json:
        echo(f"{each.folder}: {each.came}{f', {each.why}' if each.why else ''}", err=refused)


def _end(came: Sequence[AddResult], as_json: bool) -> None:
    if as_json:
        rows = [{"folder": str(e.folder), "came": e.came, "why": e.why} for e in came]
        echo(json.dumps(rows, indent=2, ensure_ascii=False))
    sys.exit(ExitCode.FOUND if any(each.came in REFUSED for each in came) else ExitCode.DONE)


def _show(found: Sequence[Record], as_json: bool, line: Callable[[Any], str], nothing: str) -> None:
    if as_json:
        rows = [each.model_dump(mode="json") for each in found]
        echo(json.dumps(rows, indent=2, ensure_ascii=False))
    else:
        echo("\n".join(_printable(line(each)) for each in found) or nothing)


def _printable(text: str) -> str:
    """The text on one line, without control characters."""
    return "".join(letter if letter.isprintable() else " " for letter in text)


def _due_line(each: queries.Due) -> str:
    late = "  OVERDUE" if each.overdue else ""
    return (
        f"{each.due}{late}  {each.opening}, {each.site}  "
        f"(last visit {each.last_visit[:10]}, {each.technician}, {each.reference})"
    )


def _past_line(each: queries.Past) -> str:
    value = each.value if each.unit in ("1", "step") else f"{each.value} {each.unit}"
    name = f"{each.subject}, {each.quantity.replace('_', ' ')}"
    state = each.gone or each.place or ""
    return f"{each.visited[:10]}  {name:<36}{value:<12}{state:<22}{each.verdict or ''}".rstrip()


def _failing_line(each: queries.Failing) -> str:
    decided = f"  [{each.decision.replace('_', ' ')}]" if each.decision else ""
    return f"{each.visited[:10]}  {each.opening}, {each.site}: {each.kind}: {each.what}{decided}"


def _found_line(each: queries.Found) -> str:
    signed = "signed off" if each.signed else "not signed off"
    return (
        f"{each.visited[:10]}  {each.reference}: {each.opening}, {each.site}, "
        f"{each.technician}, {signed}. {each.verdict}"
    )
