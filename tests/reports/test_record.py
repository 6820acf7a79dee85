"""The owner's record: its text is the journal's, whatever was said fits, its hash can be read."""

from __future__ import annotations

import io
import re
from pathlib import Path

import numpy as np
import pypdfium2
import pytest
import segno
from click.testing import CliRunner
from pypdf import PdfReader

from handsfree.cli import main
from handsfree.reports.reading_rows import groups_of
from handsfree.reports.record_data import record_data
from handsfree.reports.record_pdf import record_pdf
from handsfree.reports.summary import summary_of
from handsfree.visit_record.load import load_record

from ..ledger.visits import FAILING, amend, sign, small_visit


def pages(pdf: bytes) -> list[str]:
    """The text of each page, in plain single spaces and without signs of no width."""
    texts = (page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages)
    return [" ".join(text.replace("\u200b", "").split()) for text in texts]


def text_of(folder: Path) -> str:
    return " ".join(pages(record_pdf(load_record(folder))))


def test_the_text_is_that_of_the_journal(reviewed):
    record = load_record(reviewed)
    found = pages(record_pdf(record))
    assert len(found) == 2
    text = " ".join(found)
    summary = summary_of(record)
    for told in (summary.opening, summary.site, summary.reference, summary.technician):
        assert told in text
    assert summary.verdict in text
    assert "next service due 2101-03-04" in text
    assert "signed off by J. Lind, 2100-03-05" in text
    assert "replaces neither local codes, nor the authority having jurisdiction" in text
    rows = [row for group in groups_of(record) for row in group.rows if row.left]
    assert len(rows) > 30
    for row in rows:
        line = f"{row.what} {row.found or row.left} {row.left} {row.limit}".strip()
        assert line in text, line
        assert f"{row.clause} {row.verdict_words}".strip() in text
    for matter in record.open_items:
        assert matter.what in text
    for note in record.notes:
        assert note.now in text
    assert all(f"journal {record.head}" in page for page in found)
    assert text.count("Stand away from the door") == 1
    assert "Does it stay latched?" in text  # this opening has a strike
    assert "Say in order" not in text and "{subject}" not in text


def test_the_same_journal_gives_the_same_bytes_and_its_own_fonts(reviewed):
    record = load_record(reviewed)
    pdf = record_pdf(record)
    assert pdf == record_pdf(load_record(reviewed))
    fonts = {
        font["/BaseFont"]
        for page in PdfReader(io.BytesIO(pdf)).pages
        for font in (each.get_object() for each in page["/Resources"]["/Font"].values())
    }
    # A name that begins with six letters and a plus is a subset that lies in the file.
    assert fonts and all(re.match(r"/[A-Z]{6}\+", name) for name in fonts)


@pytest.mark.slow
def test_the_qr_code_is_that_of_the_head(reviewed):
    """Read back from the picture of the page: every square compared."""
    record = load_record(reviewed)
    page = pypdfium2.PdfDocument(record_pdf(record))[0]
    scale = 8
    picture = np.asarray(page.render(scale=scale).to_pil().convert("L")) < 128
    millimetre = scale * 72 / 25.4
    right, top = picture.shape[1] - 17 * millimetre, 15 * millimetre
    side = round(30 * millimetre)
    left = round(right - 30 * millimetre)
    square = picture[round(top) : round(top) + side, left : left + side]
    wanted = np.array(
        [list(row) for row in segno.make_qr(record.head, error="m").matrix_iter(border=2)]
    )
    count = len(wanted)
    at = ((np.arange(count) + 0.5) * side / count).astype(int)
    assert np.array_equal(square[np.ix_(at, at)], wanted.astype(bool))


@pytest.mark.slow
def test_without_a_sign_off_an_end_or_a_whole_journal_it_says_so(tmp_path):
    folder = small_visit(tmp_path / "a")
    assert "not signed off yet" in text_of(folder)
    assert "5 of 5 checks pass." in text_of(folder)
    sign(folder)
    assert "signed off by J. Lind" in text_of(folder)
    amend(folder, "r1", "6.0")
    assert "changed since it was signed off" in text_of(folder)
    begun = small_visit(tmp_path / "b", closed=False)
    text = text_of(begun)
    assert "not set: the visit is not finished" in text and "The visit is not finished." in text
    journal = folder / "journal.jsonl"
    journal.write_bytes(journal.read_bytes().replace(b"listened", b"listens!"))
    run = CliRunner().invoke(main, ["record", str(folder), "--out", str(tmp_path / "r.pdf")])
    assert run.exit_code == 1 and "broken at line" in run.stderr
    text = " ".join(pages((tmp_path / "r.pdf").read_bytes()))
    assert "is broken at line" in text and "nothing to rely on" in text
    assert "journal broken" in text and "signed off by" not in text


def test_what_the_visit_agreed_on_is_when_the_next_service_is_due(tmp_path):
    folder = small_visit(tmp_path / "a", readings=(("next_service", "6"),))
    assert "next service due 2100-09-04" in text_of(folder)


HOSTILE = [
    "#panic(1) $x$ *b* _i_ `c` <l> @r [x] {y} \\ // /* \" ' = #set page(width: 1cm)",
    "W" * 3000,
    "long words " * 400,
    "\u202edoor\u202c \u0000\u0007\x1b[31m \u200f line\nbreak\ttab \U000e0041",
    "<script>alert(1)</script>",
    "Ünïcödé Ελληνικά Кириллица 漢字 \U0001f6aa e\u0301",
]


@pytest.mark.parametrize("said", HOSTILE)
def test_nothing_spoken_breaks_the_page(tmp_path, said):
    folder = small_visit(
        *(tmp_path / "a",),
        site=said,
        name=said,
        reference=said,
        technician=said,
        notes=(said, "the last note"),
        readings=FAILING,
    )
    record = load_record(folder)
    pdf = record_pdf(record)
    found = pages(pdf)
    assert len(found) <= 2
    assert "the last note" in " ".join(found)
    for page in pypdfium2.PdfDocument(pdf):
        picture = np.asarray(page.render(scale=2).to_pil().convert("L"))
        margin = round(15 / 25.4 * 72 * 2)
        assert (picture[:, :margin] == 255).all() and (picture[:, -margin:] == 255).all()
        assert (picture[: margin // 2] == 255).all() and (picture[-margin // 2 :] == 255).all()


def test_markup_is_shown_as_it_was_said(tmp_path):
    said = "#panic(1) $x$ *b* `c` <script>"
    assert said in text_of(small_visit(tmp_path / "a", notes=(said,)))


def test_many_readings_go_on_with_their_heading(tmp_path):
    quantities = ("opening_time", "closing_time", "opening_force", "closing_force", "cycles")
    readings = tuple((quantities[n % 5], str(5 + n % 3)) for n in range(30))
    folder = small_visit(tmp_path / "a", readings=readings, notes=("a note",) * 80)
    found = pages(record_pdf(load_record(folder)))
    assert len(found) >= 2
    assert all(f"page {n} of {len(found)}" in page for n, page in enumerate(found, start=1))
    assert "Every day, by the owner" in " ".join(found)
    assert " ".join(found).count("• a note") == 60
    assert "and 20 more: the report has them" in " ".join(found)


def test_texts_are_cut_at_what_a_page_holds(tmp_path):
    folder = small_visit(tmp_path / "a", name="n" * 500, notes=("w " * 5000,))
    data = record_data(load_record(folder))
    assert len(data["opening"].replace("\u200b", "")) == 90 and data["opening"].endswith("…")
    assert len(data["notes"][0]) <= 400


def test_the_command_writes_beside_the_journal(tmp_path):
    folder = small_visit(tmp_path / "a")
    run = CliRunner().invoke(main, ["record", str(folder)])
    assert run.exit_code == 0, run.output
    assert (folder / "record.pdf").read_bytes().startswith(b"%PDF-")
    run = CliRunner().invoke(main, ["record", str(folder), "--out", "/proc/none/x"])
    assert run.exit_code == 2 and "could not be written" in run.stderr
