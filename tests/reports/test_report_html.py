"""The content of the report's page, compared with the record from which it was made."""

from __future__ import annotations

import json
import re
from html import unescape

import pytest
from markupsafe import Markup

from handsfree.journal import events as ev
from handsfree.reports.embedded_sound import LinkedSound, NoSound
from handsfree.reports.reading_rows import groups_of
from handsfree.reports.report_html import report_html
from handsfree.reports.report_page import heading_of
from handsfree.reports.summary_text import SAFETY_NOTE
from handsfree.visit_record.load import load_record
from handsfree.visit_record.visit_record import VisitRecord, record_of

from ..ledger.visits import small_visit
from ..visit_record.test_visit_record import WHOLE, amended, and_office, record, spoken  # noqa: F401 - a fixture


class Slots:
    """Office controls that show where they are inserted."""

    policy = "form-action 'self'; connect-src 'self'"

    def head(self) -> Markup:
        return Markup("<meta name='office' content='here'>")

    def top(self, record: VisitRecord) -> Markup:
        return Markup("<p>slot-top</p>")

    def __getattr__(self, name: str):
        def slot(item: object = None) -> Markup:
            key = getattr(item, "id", None) or getattr(item, "key", None)
            return Markup("<i>slot-{}-{}</i>").format(name, key or getattr(item, "seq", ""))

        return slot


@pytest.fixture(scope="module")
def seen(reviewed) -> VisitRecord:
    return load_record(reviewed)


def text_of(html: str) -> str:
    body = re.sub(r"<(script|style).*?</\1>", "", html, flags=re.DOTALL)
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", body)).split())


def test_every_reading_caution_reason_note_decision_and_utterance_is_there(seen):
    text = text_of(report_html(seen, NoSound()))
    for each in seen.utterances:
        assert f"“{each.heard}”" in text and each.taken_for in text
    for said in seen.said:
        assert " ".join(said.text.split()) in text
    for caution in seen.cautions:
        assert caution.text in text
    for act in seen.office:
        assert act.what in text and act.by in text
    for matter in seen.open_items:
        assert matter.what in text and (matter.reason or "") in text
    assert seen.notes[0].now in text and seen.notes[0].text in text
    assert seen.faults[0].detail.capitalize() in text
    for known in (
        seen.head,
        seen.opened.limits,
        seen.opened.model,
        seen.opened.procedure_sha256,
        SAFETY_NOTE,
    ):
        assert known in text


def test_the_table_holds_every_finding_in_force_with_limit_and_clause(seen):
    rows = [row for group in groups_of(seen) for row in group.rows]
    rules = [f for measured in seen.quantities for f in measured.findings]
    assert len([row for row in rows if row.limit]) == len([f for f in rules if f.limit is not None])
    failing = next(row for row in rows if row.verdict == "fail")
    assert (failing.what, failing.left, failing.limit) == (
        "closing force",
        "17 lbf",
        "at most 15 lbf",
    )
    assert "4.4" in failing.clause and failing.doubt == "± 0.28 lbf" and failing.advice
    energy = next(row for row in rows if row.what == "opening energy" and row.found)
    assert energy.found == "1.24 lbf ft" and energy.left == "0.77 lbf ft"
    opening = next(row for row in rows if row.what == "opening time" and row.found)
    assert (opening.found, opening.left) == ("2.9 s", "3.69 s")
    assert opening.runs == "mean of 3.69, 3.68, 3.69"


def test_the_heading_is_what_rules(spoken, seen):  # noqa: F811 - the fixture
    assert heading_of(seen).kind == "fail"
    assert heading_of(record(spoken)).kind == "fail"  # a leaf that does not swing freely
    only_times = [
        e for e in spoken if not (e.body.kind == "fact_accepted" and "not_in" in e.body.fact.value)
    ]
    assert heading_of(record(only_times)).words.startswith("So far 3 of 3 checks pass")
    finished = [*only_times, only_times[-1].model_copy(update={"body": ev.VisitClosed()})]
    assert heading_of(record(finished)).kind == "pass"
    broken = WHOLE.model_copy(update={"whole": False, "head": None})
    assert heading_of(record_of(finished, broken)).kind == "none"
    close = record(and_office(only_times, amended("r2", "4.5", "3.55")))
    assert heading_of(close).kind == "close"
    assert heading_of(close).detail[0].startswith("left leaf: opening time 3.55 s")
    begun = record(spoken[:1])
    assert heading_of(begun).kind == "none"
    assert "The visit is not finished." in report_html(begun, NoSound())


def test_a_visit_that_changed_after_it_was_signed_says_so(seen):
    unsigned = seen.model_copy(
        update={"sign_offs": tuple(s.model_copy(update={"valid": False}) for s in seen.sign_offs)}
    )
    text = text_of(report_html(unsigned, NoSound()))
    assert "Changed since it was signed off by J. Lind." in text
    assert "Signed off by J. Lind." in text_of(report_html(seen, NoSound()))


def test_the_office_s_controls_stand_beside_what_they_change(seen, reviewed):
    html = report_html(seen, LinkedSound(reviewed, "/sound/"), Slots())
    for item in seen.readings:
        start = html.index(f'id="reading-{item.id}"')
        assert f"slot-reading-{item.id}" in html[start : html.index("</li>", start)]
    for name, items in (
        ("utterance", seen.utterances),
        ("note", seen.notes),
        ("fact", seen.facts),
        ("open_item", seen.open_items),
    ):
        assert html.count(f"<i>slot-{name}-") == len(items)
    assert html.count("<i>slot-sign_off-") == 1 and "slot-top" in html
    policy = re.search(r'Content-Security-Policy" content="([^"]+)"', html)[1]
    assert "connect-src &#39;self&#39;" in policy and "form-action &#39;none&#39;" not in policy
    sounds = json.loads(re.search(r'id="sounds">(.*?)</script>', html, re.DOTALL)[1])
    assert set(sounds.values()) == {f"/sound/{clip}" for clip in sounds}
    assert "data:audio" not in html


def test_without_an_office_no_control_and_no_form_is_there(seen):
    html = report_html(seen, NoSound())
    assert "slot-" not in html and "<form" not in html and "form-action &#39;none&#39;" in html


def test_nothing_on_the_page_is_fetched(seen):
    html = report_html(seen, NoSound())
    assert not re.search(r"""(?:src|href)=["'](?!#|data:)""", html)
    assert "@import" not in html and "url(" not in html


def test_a_note_that_was_typed_is_not_said_to_be_heard(tmp_path, reviewed):
    typed = load_record(small_visit(tmp_path / "a", notes=("a chair in the way",)))
    page = report_html(typed, NoSound())
    assert "“a chair in the way”" in page and "listen to it" not in page
    visit = load_record(reviewed)
    note = visit.notes[0].model_copy(update={"amendments": (), "clip": "000001.flac"})
    assert "listen to it" in report_html(visit.model_copy(update={"notes": (note,)}), NoSound())
