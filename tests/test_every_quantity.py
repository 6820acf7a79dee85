"""Every quantity goes all the way: said, read back, filed, and shown in every output."""

from __future__ import annotations

import csv
import io
import json
import re
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from html import unescape
from pathlib import Path
from typing import NamedTuple

import jsonschema
import pytest
from num2words import num2words

from handsfree.checks.limits import load_limits
from handsfree.dialogue.state import State
from handsfree.job.job import Job
from handsfree.job.quantity import QUANTITIES, Quantity, SubjectKind
from handsfree.job.reading import Subject
from handsfree.journal import events as ev
from handsfree.journal.reader import read
from handsfree.journal.writer import Journal
from handsfree.language.interpreter import Language
from handsfree.language.wording import languages, wording
from handsfree.procedure.loader import parse_procedure
from handsfree.reports.embedded_sound import NoSound
from handsfree.reports.export import export_csv, export_json
from handsfree.reports.report_html import report_html
from handsfree.reports.summary import summarize
from handsfree.reports.summary_text import summary_text
from handsfree.visit.resume import opening_event
from handsfree.visit_record.load import load_record
from handsfree.visit_record.progress import Progress
from handsfree.visit_record.visit_record import VisitRecord

from .talk import PROCEDURE, SHEET, Talk

BEGAN = datetime(2100, 1, 1, tzinfo=UTC)
SCHEMA = Path(__file__).parents[1] / "docs" / "export.schema.json"
ABOUT = {
    SubjectKind.LEAF: Subject.LEFT_LEAF,
    SubjectKind.PLATE: Subject.LEFT_PLATE,
    SubjectKind.SIDE: Subject.NEAR_SIDE,
    SubjectKind.OPENING: Subject.OPENING,
}
YES = {"en": "affirm", "es": "afirmativo"}


class Visit(NamedTuple):
    """A visit in which every quantity was said once, and its outputs."""

    talk: Talk
    said: dict[Quantity, list[str]]
    values: dict[Quantity, Decimal]
    record: VisitRecord
    summary: str
    report: str
    rows: list[dict[str, str]]


def value_of(quantity: Quantity) -> Decimal:
    """A plausible whole value."""
    facts = QUANTITIES[quantity]
    return (facts.low + (facts.high - facts.low) / 3).to_integral_value()


def visit(code: str, folder: Path) -> Visit:
    procedure = parse_procedure(PROCEDURE, "small.toml", "0" * 64)
    limits, sheet = load_limits("a156.19"), SHEET.model_copy(update={"language": code})
    state = State(procedure=procedure, limits=limits, progress=Progress(job=Job.open(sheet)))
    talk = Talk(state=state, language=Language.load(language=code))
    talk.begins()
    said, values, w = {}, {}, wording(code)
    for quantity, facts in QUANTITIES.items():
        values[quantity] = value_of(quantity)
        number = num2words(int(values[quantity]), lang=code).replace(" and ", " ")
        words = f"{w.quantity(quantity)} {number.replace('-', ' ')} {w.units(facts.unit)}".strip()
        about = "" if facts.of is SubjectKind.OPENING else w.subject(ABOUT[facts.of])
        said[quantity] = talk.says(f"{about} {words}".strip())
        talk.says(YES[code])
    with Journal.create(folder) as journal:
        journal.append(
            opening_event(sheet, procedure, limits, model="none", ears="typed", mouth="silent"),
            BEGAN,
        )
        for nth, body in enumerate(talk.kept, start=1):
            journal.append(body, BEGAN + timedelta(seconds=nth))
    record = load_record(folder)
    page = re.sub(r"\s+", " ", unescape(re.sub(r"<[^>]+>", " ", report_html(record, NoSound()))))
    rows = list(csv.DictReader(io.StringIO(export_csv(record))))
    return Visit(talk, said, values, record, summary_text(summarize(read(folder))), page, rows)


@pytest.fixture(params=languages(), scope="module")
def whole(request, tmp_path_factory) -> Visit:
    return visit(request.param, tmp_path_factory.mktemp("visits") / request.param)


@pytest.mark.parametrize("quantity", Quantity)
def test_a_reading_is_understood_read_back_and_filed(whole: Visit, quantity: Quantity):
    w, facts, value = whole.talk.state.words, QUANTITIES[quantity], whole.values[quantity]
    assert w.quantity(quantity) in " ".join(whole.said[quantity]).lower()
    assert w.measure(value, facts.unit) in " ".join(whole.said[quantity])
    (event,) = (
        kept.reading
        for kept in whole.talk.of(ev.ReadingAccepted)
        if kept.reading.quantity is quantity
    )
    assert (event.subject, event.value, event.unit) == (ABOUT[facts.of], value, facts.unit)


@pytest.mark.parametrize("quantity", Quantity)
def test_it_is_in_summary_report_and_export(whole: Visit, quantity: Quantity):
    facts, value = QUANTITIES[quantity], whole.values[quantity]
    line = next(part for part in whole.summary.splitlines() if f", {facts.spoken}" in part)
    assert str(value) in line
    assert facts.spoken in whole.report.lower()
    (row,) = (each for each in whole.rows if each["quantity"] == quantity)
    assert (row["subject"], row["value"]) == (ABOUT[facts.of], str(value))


def test_the_export_fits_the_schema_of_the_docs(whole: Visit):
    schema = json.loads(SCHEMA.read_text(encoding="utf-8"))
    exported = json.loads(export_json(whole.record))
    assert list(jsonschema.Draft202012Validator(schema).iter_errors(exported)) == []
