"""Record and label keep the rules of PDF/A-2a and PDF/UA-1; a broken rule is detected."""

from __future__ import annotations

import io
from collections.abc import Callable

import pikepdf
import pytest

from handsfree.job.opening import Swing
from handsfree.reports.door_label import label_pdf
from handsfree.reports.letterhead import Letterhead
from handsfree.reports.record_pdf import record_pdf

from .pdf_rules import broken_rules, elements
from .serviced import serviced

LOGO = b'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 9 9"><path d="M0 0h9v9z"/></svg>'
HEAD = Letterhead(company="Example Doors", address="1 Example Street", logo=LOGO, paper="a4")


@pytest.fixture(scope="module")
def record() -> bytes:
    return record_pdf(serviced(), HEAD)


@pytest.mark.slow
def test_the_record_of_a_single_leaf_keeps_them(record):
    assert broken_rules(record) == []


@pytest.mark.slow
def test_the_record_of_a_pair_in_two_languages_keeps_them():
    assert broken_rules(record_pdf(serviced(Swing.SAME_WAY), languages=("en", "es"))) == []


def test_the_label_keeps_them():
    assert broken_rules(label_pdf(serviced(), HEAD)) == []


def _first(pdf: pikepdf.Pdf, key: str, value: str) -> pikepdf.Object:
    return next(
        each
        for each in pdf.objects
        if isinstance(each, pikepdf.Dictionary) and each.get(key) == value
    )


def _font_outside(pdf: pikepdf.Pdf) -> None:
    told = _first(pdf, "/Type", "/FontDescriptor")
    for key in ("/FontFile2", "/FontFile3"):
        if key in told:
            del told[key]


def _no_unicode(pdf: pikepdf.Pdf) -> None:
    del _first(pdf, "/Subtype", "/Type0").ToUnicode


def _no_alt(pdf: pikepdf.Pdf) -> None:
    figure = next(e for e in elements(pdf.Root.StructTreeRoot) if e.get("/S") == "/Figure")
    del figure.Alt


def _script(pdf: pikepdf.Pdf) -> None:
    pdf.Root.OpenAction = pdf.make_indirect(pikepdf.Dictionary(S=pikepdf.Name.JavaScript, JS="1"))


def _untagged_paint(pdf: pikepdf.Pdf) -> None:
    pdf.pages[0].contents_add(b"0 0 9 9 re f")


def _heading_skipped(pdf: pikepdf.Pdf) -> None:
    heading = next(e for e in elements(pdf.Root.StructTreeRoot) if e.get("/S") == "/H2")
    heading.S = pikepdf.Name.H4


def _no_scope(pdf: pikepdf.Pdf) -> None:
    del next(e for e in elements(pdf.Root.StructTreeRoot) if e.get("/S") == "/TH")["/A"]


def _no_language(pdf: pikepdf.Pdf) -> None:
    pdf.Root.Lang = ""


def _no_profile(pdf: pikepdf.Pdf) -> None:
    del pdf.Root.OutputIntents[0].DestOutputProfile


def _other_title(pdf: pikepdf.Pdf) -> None:
    pdf.docinfo.Title = "another"


def _tabs(pdf: pikepdf.Pdf) -> None:
    del pdf.pages[0].obj.Tabs


def _attached(pdf: pikepdf.Pdf) -> None:
    pdf.attachments["a.txt"] = b"a"


def _file_name_shown(pdf: pikepdf.Pdf) -> None:
    pdf.Root.ViewerPreferences.DisplayDocTitle = False


@pytest.mark.parametrize(
    ("spoil", "rule"),
    [
        (_font_outside, "6.2.11.4"),
        (_no_unicode, "6.2.11.7"),
        (_no_alt, "UA 7.3"),
        (_script, "6.5"),
        (_untagged_paint, "UA 7.1: page 1 paints"),
        (_heading_skipped, "UA 7.4"),
        (_no_scope, "UA 7.5"),
        (_no_language, "6.7.4"),
        (_no_profile, "6.2.3"),
        (_other_title, "UA 7.1: it has no title"),
        (_tabs, "UA 7.18.3"),
        (_attached, "6.8"),
        (_file_name_shown, "UA 7.1: a reader shows"),
    ],
)
def test_a_broken_rule_is_noticed(record, spoil: Callable[[pikepdf.Pdf], None], rule: str):
    spoiled = io.BytesIO()
    with pikepdf.open(io.BytesIO(record)) as pdf:
        spoil(pdf)
        pdf.save(spoiled)
    assert any(each.startswith(rule) for each in broken_rules(spoiled.getvalue()))
