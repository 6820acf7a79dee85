"""Exports a visit for other programs: JSON with a schema, or the readings as a table."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterator
from typing import Any, Literal

from handsfree.job.finding import Finding, ruling
from handsfree.job.job import Sheet
from handsfree.job.opening import Opening
from handsfree.job.record import Record
from handsfree.journal.reader import Verification
from handsfree.reports.summary import Summary, summary_of
from handsfree.visit_record.controller_set_up import SetUpRow, ShownCode
from handsfree.visit_record.cycles import TimedRun
from handsfree.visit_record.facts import FactStory
from handsfree.visit_record.office_changes import OfficeChange, SignOff
from handsfree.visit_record.open_items import OpenItem
from handsfree.visit_record.reading_story import ReadingStory
from handsfree.visit_record.talk_items import (
    Caution,
    Note,
    Occurrence,
    RecordedFault,
    Spoken,
    Utterance,
)
from handsfree.visit_record.visit_facts import Photo, VisitFactStory
from handsfree.visit_record.visit_record import VisitRecord

FORMAT = "handsfree visit"
VERSION = 1
"""Version of the format; increases when a field changes its meaning or is removed."""

COLUMNS = (
    *("site", "opening", "reference", "technician", "began", "ended", "complete", "signed_off"),
    *("reading", "subject", "quantity", "place", "attempt", "run", "value", "unit", "taken"),
    *("verdict", "limits", "source", "accepted", "amended_by", "amended_why", "confirmed_by"),
    *("gone", "gone_by", "gone_why", "doubt", "event", "at", "clip", "journal_head"),
    "second_ear",
)
"""The columns of the table."""


class ExportedVisit(Record):
    """A visit for other programs, whose fields keep their names and order.

    ``opening`` is the opening as known at the end, ``sheet`` as in the job file. ``ended`` is the
    time of the visit's own last event, ``complete`` is true if it was closed. ``readings`` are in
    the order of acceptance and include withdrawn ones; everything else is oldest first. ``matters``
    lists the items that the office decides before sign-off. ``verification`` says whether the
    journal is intact, or where and why it is broken; the export then covers the part before the
    break.
    """

    sheet: Sheet
    opening: Opening
    summary: Summary
    began: str
    ended: str
    complete: bool
    limits: str
    limits_sha256: str
    procedure: str
    procedure_sha256: str
    model: str
    version: str
    ears: str
    mouth: str
    controller: str
    readings: tuple[ReadingStory, ...]
    utterances: tuple[Utterance, ...]
    said: tuple[Spoken, ...]
    notes: tuple[Note, ...]
    cautions: tuple[Caution, ...]
    facts: tuple[FactStory, ...]
    visit_facts: tuple[VisitFactStory, ...]
    struck_visit_facts: tuple[VisitFactStory, ...]
    photos: tuple[Photo, ...]
    matters: tuple[OpenItem, ...]
    set_up: tuple[SetUpRow, ...]
    codes: tuple[ShownCode, ...]
    runs: tuple[TimedRun, ...]
    faults: tuple[RecordedFault, ...]
    moments: tuple[Occurrence, ...]
    office: tuple[OfficeChange, ...]
    sign_offs: tuple[SignOff, ...]
    verification: Verification


class Export(Record):
    """The top level of an export. Decimal numbers are texts: '6.20' stays '6.20'.

    Times are UTC; ``journal_head`` is the hash of the journal's last line, null for a broken one.
    """

    format: Literal["handsfree visit"] = "handsfree visit"
    version: Literal[1] = 1
    journal_head: str | None
    visit: ExportedVisit


def export_json(visit: VisitRecord) -> str:
    """The visit as JSON that conforms to ``export_schema``."""
    return Export(journal_head=visit.head, visit=_exported(visit)).model_dump_json(indent=2) + "\n"


def _exported(visit: VisitRecord) -> ExportedVisit:
    """The record with the field names of the export."""
    own = {"summary": summary_of(visit), "matters": visit.open_items, "moments": visit.occurrences}
    others = ExportedVisit.model_fields.keys() - own.keys()
    told = {name: getattr(visit if hasattr(visit, name) else visit.opened, name) for name in others}
    return ExportedVisit.model_validate(own | told)


def export_schema() -> str:
    """The JSON Schema (2020-12) of ``export_json``, generated from the records."""
    schema: dict[str, Any] = {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        **Export.model_json_schema(mode="serialization"),
        "title": "A visit exported by handsfree",
    }
    return json.dumps(schema, indent=2, ensure_ascii=False) + "\n"


def export_csv(visit: VisitRecord) -> str:
    """The readings as CSV, one per row, including withdrawn ones (RFC 4180: CRLF, quoted if
    necessary).

    A text that a spreadsheet would take for a formula gets a leading apostrophe.
    """
    text = io.StringIO()
    table = csv.writer(text)
    table.writerow(COLUMNS)
    for row in reading_rows(visit):
        table.writerow([_cell(row[name]) for name in COLUMNS])
    return text.getvalue()


def reading_rows(visit: VisitRecord) -> Iterator[dict[str, object]]:
    """The row of each reading, by the column names of ``COLUMNS``."""
    found = visit.findings_by_attempt()
    for item in visit.readings:
        yield _row(visit, item, found.get(item.attempt, ()) if item.gone is None else ())


def _row(
    visit: VisitRecord, item: ReadingStory, findings: tuple[Finding, ...]
) -> dict[str, object]:
    now, gone = item.now, item.gone
    amended = item.amendments[-1] if item.amendments else None
    return {
        "site": visit.sheet.site,
        "opening": visit.opening.name,
        "reference": visit.sheet.reference,
        "technician": visit.sheet.technician,
        "began": visit.began,
        "ended": visit.ended,
        "complete": _yes(visit.complete),
        "signed_off": _yes(visit.signed),
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
        "journal_head": visit.head,
        "second_ear": item.accepted.second_ear,
    }


def _limit(found: Finding) -> str:
    if found.limit is None:
        return ""
    return f"{found.rule.replace('_', ' ')} {found.bound} {found.limit} {found.unit}"


def _yes(true: bool) -> str:
    return "yes" if true else "no"


def _cell(value: object) -> str:
    """The text of a cell. A text that begins like a formula is escaped; a negative number is not.

    Spreadsheets skip leading spaces and control characters, and accept the full-width forms of
    these signs too.
    """
    text = "" if value is None else str(value).replace("\0", "�")
    shown = (at for at, letter in enumerate(text) if letter.isprintable() and letter != " ")
    start = text[next(shown, len(text)) :]
    begins = start[:1] in ("=", "+", "-", "@", "＝", "＋", "－", "＠") or text[:1] in "\t\r\n"  # noqa: RUF001
    number = start.removeprefix("-").replace(".", "", 1).isdecimal()
    return f"'{text}" if text and begins and not number else text
