"""The office shows the second ear's part in a reading, and offers its transcripts."""

from __future__ import annotations

import pytest

from handsfree.errors import SecondEarError
from handsfree.journal.reader import verify
from handsfree.office.transcriber import Opener
from handsfree.reports.embedded_sound import NoSound
from handsfree.reports.export import export_json
from handsfree.reports.report_html import report_html
from handsfree.reports.summary import summary_of
from handsfree.reports.summary_text import summary_text
from handsfree.second_ear.port import FakeSecondEar
from handsfree.visit_record.load import load_record

from ..browser import page_at, until, violations
from ..reports.test_second_ear import HEARD, TEXTS
from ..visit.test_cross_check import run
from .house import Desk, office_at


def test_its_marks_and_words_are_shown_and_a_note_begins_with_them(tmp_path):
    run(tmp_path / "visit", HEARD, FakeSecondEar(TEXTS))
    (note,) = load_record(tmp_path / "visit").notes
    with office_at(tmp_path) as (address, office):
        (place,) = office.index.rows()
        desk, here = Desk(address), f"/visit/{place.id}"
        whole = desk.page(here)
        assert "a second ear heard the same" in whole
        listening = desk.page(f"{here}/listen")
        assert "<dt>Second ear</dt><dd>a second ear heard another value" in listening
        form = desk.page(f"{here}/change/note/{note.seq}")
        assert "Typed up by machine, not checked: “The arm &lt;is&gt; loose.”" in form
        assert "required>The arm &lt;is&gt; loose.</textarea>" in form
        assert ">The arm &lt;is&gt; loose.</textarea>" in whole  # beside the player
        assert 'data-ear="' not in whole  # it is typed up already


@pytest.fixture
def ears() -> list[FakeSecondEar]:
    """Those that an office opened."""
    return []


def opened(ears: list[FakeSecondEar], *texts: str) -> Opener:
    def opener(language: str) -> FakeSecondEar:
        assert language == "en"
        ears.append(FakeSecondEar(texts))
        return ears[-1]

    return opener


@pytest.mark.slow
def test_the_office_types_up_what_was_spoken_and_a_person_saves_it(browser, visits, ears):
    """Without a person nothing of it is in the journal."""
    note_before = load_record(visits / "harbour").notes[0]
    head = verify(visits / "harbour").head
    heard = opened(ears, "The guard wants it open.", "New <b>pivot</b> next time.")
    with office_at(visits, ear=heard) as (address, _), page_at(browser, address) as page:
        cookie = {"name": "handsfree-name", "value": "A.%20Okoro", "url": address}
        page.context.add_cookies([cookie])
        page.goto(f"{address}{Desk(address).visit()}")
        for where, text in ((".matters", "The guard"), (".notes", "New <b>pivot</b>")):
            until(page, f"document.querySelector('{where} textarea')?.value.startsWith('{text}')")
            assert page.locator(f"{where} .by-machine").is_visible()
        assert verify(visits / "harbour").head == head and len(ears[0].sounds) == 2
        page.locator(".notes").get_by_role("button", name="Save").click()
        until(page, "!!document.querySelector('.notes .amended')")
        until(page, "document.querySelector('.matters textarea')?.value === ''")
        assert not page.locator(".matters .by-machine").is_visible()
        assert violations(page) == []
        assert page.faults == []
    (note,) = load_record(visits / "harbour").notes
    assert note.now == "New <b>pivot</b> next time." and note.amendments[0].by == "A. Okoro"
    assert note.amendments[0].old == note_before.text


@pytest.mark.slow
def test_a_reason_that_was_written_down_is_shown_wherever_the_visit_is(visits, desk):
    here, record = desk.visit(), load_record(visits / "harbour")
    (skipped,) = [item for item in record.open_items if item.kind == "skipped"]
    sent = {"kind": "note", "seq": str(skipped.reason_seq), "why": "typed up from its sound"}
    assert desk.change(here, new="The guard was in a hurry.", **sent).status_code == 303
    assert desk.change(here, new="The guard was in a hurry.", **sent).status_code == 422
    after = load_record(visits / "harbour")
    (item,) = [item for item in after.open_items if item.kind == "skipped"]
    assert item.reason == "The guard was in a hurry."
    (written,) = item.reason_amendments
    assert (written.by, written.old) == ("A. Okoro", skipped.reason)
    assert "The guard was in a hurry." in summary_text(summary_of(after))
    assert "The guard was in a hurry." in export_json(after)
    report = report_html(after, NoSound())
    assert "The guard was in a hurry." in report and f"heard as “{skipped.reason}”" in report


@pytest.mark.slow
def test_without_an_ear_that_can_hear_it_nothing_is_filled_in(visits, desk):
    here, record = desk.visit(), load_record(visits / "harbour")
    assert desk.web.get(f"{here}/typed-up/{record.notes[0].seq}").json() == {"text": ""}

    def lost(_: str) -> FakeSecondEar:
        raise SecondEarError("it cannot be opened")

    for ear in (lost, lambda _: FakeSecondEar([SecondEarError("it died")])):
        with office_at(visits, ear=ear) as (address, _):
            other = Desk(address)
            for seq in (record.notes[0].seq, 1):
                answer = other.web.get(f"{other.visit()}/typed-up/{seq}")
                assert answer.json() == {"text": ""}
