"""The label for the door: its two dates, its verdict, and a code that a phone can read."""

from __future__ import annotations

import io

import pikepdf
import pypdfium2
import pytest
import zxingcpp
from click.testing import CliRunner
from pypdf import PdfReader

from handsfree.cli import main
from handsfree.reports.door_label import label_data, label_pdf
from handsfree.reports.letterhead import Letterhead
from handsfree.visit_record.load import load_record

from ..ledger.visits import FAILING, small_visit

HEAD = Letterhead(company="Example Doors", address="1 Example Street; 555 0100")


def text_of(pdf: bytes) -> str:
    (page,) = PdfReader(io.BytesIO(pdf)).pages
    return " ".join(page.extract_text().replace("\u200b", "").split())


def test_it_has_both_days_the_verdict_and_whom_to_call(tmp_path):
    record = load_record(small_visit(tmp_path / "a"))
    text = text_of(label_pdf(record, HEAD))
    for told in (
        "Main entrance",
        "Last service March 4, 2100",
        "Next service March 4, 2101",
        "All 5 checks pass",
        "call Example Doors, 1 Example Street; 555 0100.",
        str(record.head)[:12],
    ):
        assert told in text
    assert "su empresa de servicio" in text_of(label_pdf(record, language="es"))


def test_a_door_that_fails_never_has_a_label_that_hides_it(tmp_path):
    record = load_record(small_visit(tmp_path / "a", readings=FAILING))
    data = label_data(record)
    assert (data["kind"], data["verdict"]) == ("fail", "Not OK")
    begun = label_data(load_record(small_visit(tmp_path / "b", closed=False)))
    assert begun["due"] == "not set" and begun["verdict"] == "The visit is not finished"


def test_it_is_one_small_page_whatever_the_names_are(tmp_path):
    record = load_record(small_visit(tmp_path / "a", name="w " * 300, site="W" * 900))
    long = Letterhead(company="c " * 40, address="a " * 80)
    pdf = label_pdf(record, long)
    (page,) = PdfReader(io.BytesIO(pdf)).pages
    size = (float(page.mediabox.width), float(page.mediabox.height))
    assert size == pytest.approx((100 / 25.4 * 72, 50 / 25.4 * 72), abs=0.01)
    with pikepdf.open(io.BytesIO(pdf)) as opened, opened.open_metadata() as told:
        assert (told["pdfaid:part"], told["pdfuaid:part"]) == ("2", "1")


def test_a_phone_reads_its_code(tmp_path):
    """By zxing-cpp, from the 203 dpi of a label printer."""
    record = load_record(small_visit(tmp_path / "a"))
    page = pypdfium2.PdfDocument(label_pdf(record, HEAD))[0]
    (code,) = zxingcpp.read_barcodes(page.render(scale=203 / 72).to_pil().convert("L"))
    assert code.text.splitlines() == [
        "main entrance, Harbour Hall",
        "Last service: 2100-03-04",
        "Next service: 2101-03-04",
        f"Record: {str(record.head)[:12]}",
    ]


def test_the_command_writes_beside_the_journal(tmp_path):
    folder = small_visit(tmp_path / "a")
    run = CliRunner().invoke(main, ["label", str(folder)])
    assert run.exit_code == 0, run.output
    assert (folder / "label.pdf").read_bytes().startswith(b"%PDF-")
    run = CliRunner().invoke(main, ["label", str(folder), "--language", "en+es"])
    assert run.exit_code == 2 and "one language" in run.stderr
