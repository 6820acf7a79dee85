"""The second ear in the reports: the mark on a reading, the transcripts."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path

import pytest

from handsfree.reports.embedded_sound import NoSound
from handsfree.reports.export import export_csv, export_json
from handsfree.reports.report_html import report_html
from handsfree.second_ear.port import FakeSecondEar
from handsfree.visit_record.load import load_record
from handsfree.visit_record.visit_record import VisitRecord

from ..visit.test_cross_check import run

HEARD = (
    *("left leaf opening time three point seven", "affirm"),
    *("note", "[unk]", "skip", "[unk]"),
    *("right leaf opening time six", "right leaf opening time six point nine", "affirm"),
)
TEXTS = (
    *("Left leaf, opening time 3.7.", "The arm <is> loose.", "No gauge today."),
    *("Right leaf, opening time 6.9.", "6.9"),
)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("second") / "visit"
    run(path, HEARD, FakeSecondEar(TEXTS))
    return path


@pytest.fixture(scope="module")
def record(folder) -> VisitRecord:
    return load_record(folder)


def test_the_readings_bear_their_mark(record):
    marks = [(str(item.now.value), item.accepted.second_ear) for item in record.readings]
    assert marks == [("3.7", "agreed"), ("6.9", "chosen")]


def test_a_value_that_was_heard_in_two_ways_comes_earlier_in_the_listening(record):
    agreed, chosen = record.readings
    assert "the two ears heard different values" in chosen.doubt.why
    assert not any("two ears" in why for why in agreed.doubt.why)


def test_the_typed_up_words_stand_beside_note_and_reason(record):
    assert [note.typed_up for note in record.notes] == ["The arm <is> loose."]
    assert [note.now for note in record.notes] == ["[unk]"]
    (skipped,) = [matter for matter in record.open_items if matter.kind == "skipped"]
    assert skipped.reason_typed_up == "No gauge today."


def test_what_it_heard_stands_with_its_utterance(record):
    effects = {u.heard: u.came_of for u in record.utterances if u.came_of}
    said = effects["left leaf opening time three point seven"]
    assert "the second ear heard the same" in said
    other = effects["right leaf opening time six"]
    assert "the second ear heard “Right leaf, opening time 6.9.”" in other


def test_the_report_shows_both_and_escapes_what_was_typed_up(record):
    page = report_html(record, NoSound())
    assert "a second ear heard the same" in page
    assert "asked, the technician said this one" in page
    assert "Typed up by machine, not checked: “The arm &lt;is&gt; loose.”" in page
    assert "Typed up by machine, not checked: “No gauge today.”" in page


def test_the_export_has_the_mark(record):
    rows = list(csv.DictReader(io.StringIO(export_csv(record).lstrip("\ufeff"))))
    assert [row["second_ear"] for row in rows] == ["agreed", "chosen"]
    visit = json.loads(export_json(record))["visit"]
    assert [each["accepted"]["second_ear"] for each in visit["readings"]] == ["agreed", "chosen"]
    assert visit["notes"][0]["typed_up"] == "The arm <is> loose."
