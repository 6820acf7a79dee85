"""A visit for other programs: JSON with a schema, or the readings as a table."""

from __future__ import annotations

import csv
import io
import json
from typing import Any, Literal

from handsfree.job.finding import Finding, ruling
from handsfree.job.quantity import Quantity
from handsfree.job.reading import Subject
from handsfree.job.record import Record
from handsfree.reports.dossier import Dossier
from handsfree.reports.dossier_parts import ReadingItem
from handsfree.reports.reading_rows import findings_on

FORMAT = "handsfree visit"
VERSION = 1
"""Rises when a field changes its meaning or goes; a new field alone leaves it."""

COLUMNS = (
    *("site", "opening", "reference", "technician", "began", "ended", "complete", "signed_off"),
    *("reading", "subject", "quantity", "place", "attempt", "run", "value", "unit", "taken"),
    *("verdict", "limits", "source", "accepted", "amended_by", "amended_why", "confirmed_by"),
    *("gone", "gone_by", "gone_why", "doubt", "event", "at", "clip", "journal_head"),
    "second_ear",
)
"""The columns of the table."""


class Export(Record):
    """A visit as it is exported. Decimal numbers are texts: '6.20' stays '6.20'.

    Times are UTC; ``journal_head`` is the hash of the journal's last line, null for a broken one.
    """

    format: Literal["handsfree visit"] = "handsfree visit"
    version: Literal[1] = 1
    journal_head: str | None
    visit: Dossier


def export_json(dossier: Dossier) -> str:
    """The visit as JSON, after the schema of ``export_schema``."""
    return Export(journal_head=dossier.head, visit=dossier).model_dump_json(indent=2) + "\n"


def export_schema() -> str:
    """The JSON Schema (2020-12) of ``export_json``, made from the records themselves."""
    schema: dict[str, Any] = {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        **Export.model_json_schema(mode="serialization"),
        "title": "A visit exported by handsfree",
    }
    return json.dumps(schema, indent=2, ensure_ascii=False) + "\n"


def export_csv(dossier: Dossier) -> str:
    """The readings, one a row, those that are gone too. After RFC 4180: CRLF, quoted where needed.

    A text that a spreadsheet would take for a formula has an apostrophe before it.
    """
    text = io.StringIO()
    table = csv.writer(text)
    table.writerow(COLUMNS)
    attempts: dict[_Attempt, list[ReadingItem]] = {}
    for item in dossier.standing:
        attempts.setdefault(_attempt(item), []).append(item)
    for item in dossier.readings:
        # The findings on an attempt stand at its last run, and are on every run of it.
        runs = attempts[_attempt(item)] if item.gone is None else []
        row = _row(dossier, item, findings_on(runs))
        table.writerow([_cell(row[name]) for name in COLUMNS])
    return text.getvalue()


def _row(dossier: Dossier, item: ReadingItem, findings: tuple[Finding, ...]) -> dict[str, object]:
    summary, now, gone = dossier.summary, item.now, item.gone
    amended = item.amendments[-1] if item.amendments else None
    return {
        "site": summary.site,
        "opening": summary.opening,
        "reference": summary.reference,
        "technician": summary.technician,
        "began": dossier.began,
        "ended": dossier.ended,
        "complete": _yes(dossier.complete),
        "signed_off": _yes(dossier.signed),
        "reading": item.id,
        "subject": now.subject,
        "quantity": now.quantity,
        "place": item.place,
        "attempt": now.attempt,
        "run": now.run,
        "value": now.value,
        "unit": now.unit,
        "taken": now.taken,
        "verdict": ruling(findings),
        "limits": "; ".join(filter(None, (_limit(found) for found in findings))),
        "source": "; ".join(dict.fromkeys(found.source for found in findings if found.source)),
        "accepted": item.accepted.measure,
        "amended_by": amended.by if amended else None,
        "amended_why": amended.why if amended else None,
        "confirmed_by": item.confirmed_by,
        "gone": gone.how if gone else None,
        "gone_by": gone.by if gone else None,
        "gone_why": gone.why if gone else None,
        "doubt": f"{item.doubt.score:.2f}",
        "event": item.seq,
        "at": item.at,
        "clip": item.clip,
        "journal_head": dossier.head,
        "second_ear": item.accepted.second_ear,
    }


_Attempt = tuple[Subject, Quantity, int]


def _attempt(item: ReadingItem) -> _Attempt:
    return (item.now.subject, item.now.quantity, item.now.attempt)


def _limit(found: Finding) -> str:
    if found.limit is None:
        return ""
    return f"{found.rule.replace('_', ' ')} {found.bound} {found.limit} {found.unit}"


def _yes(true: bool) -> str:
    return "yes" if true else "no"


def _cell(value: object) -> str:
    """A cell's text. A negative number is no formula; a text that begins like one is held back.

    A spreadsheet looks past spaces and control characters at the start, and takes the wide forms
    of these signs for them as well.
    """
    text = "" if value is None else str(value).replace("\0", "�")
    shown = (at for at, letter in enumerate(text) if letter.isprintable() and letter != " ")
    start = text[next(shown, len(text)) :]
    begins = start[:1] in ("=", "+", "-", "@", "＝", "＋", "－", "＠") or text[:1] in "\t\r\n"  # noqa: RUF001
    number = start.removeprefix("-").replace(".", "", 1).isdecimal()
    return f"'{text}" if text and begins and not number else text
