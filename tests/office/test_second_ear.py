"""The office shows what the second ear had to do with a reading, and offers its words."""

from __future__ import annotations

from handsfree.second_ear.port import FakeSecondEar
from handsfree.visit_record.load import load_record

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
