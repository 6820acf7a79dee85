"""The owner's record: the journal's text, any text fits, the code is readable."""

from __future__ import annotations

import io
import re
from pathlib import Path

import numpy as np
import pikepdf
import pypdfium2
import pytest
import zxingcpp
from click.testing import CliRunner
from pypdf import PdfReader

from handsfree.cli import main
from handsfree.errors import JournalError
from handsfree.job.opening import Swing
from handsfree.journal import events as ev
from handsfree.journal.paper_events import VisitFactKept
from handsfree.journal.writer import Journal
from handsfree.language.wording import languages
from handsfree.reports.door_label import label_data
from handsfree.reports.letterhead import Letterhead
from handsfree.reports.printed_text import MISSING, letters, printed_text
from handsfree.reports.printed_words import printed_words
from handsfree.reports.record_code import code_text
from handsfree.reports.record_data import record_data
from handsfree.reports.record_pdf import record_pdf
from handsfree.reports.record_readings import printed_groups
from handsfree.reports.summary import summary_of
from handsfree.reports.typeset import STANDARDS, typeset_pdf
from handsfree.visit_record.load import load_record
from handsfree.visit_record.visit_record import VisitRecord

from ..ledger.visits import BEGAN, FAILING, amend, sign, small_visit
from .pdf_rules import elements
from .serviced import ENTRIES, HEAD, serviced

LETTER, A4 = (612, 792), (595.276, 841.890)
"""Sizes in points: ANSI/ASME Y14.1 A (8.5 by 11 in), ISO 216 A4 (210 by 297 mm); from memory."""


def pages(pdf: bytes) -> list[str]:
    """The text of each page, in plain single spaces and without signs of no width."""
    texts = (page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages)
    return [" ".join(text.replace("\u200b", "").split()) for text in texts]


def text_of(folder: Path) -> str:
    return " ".join(pages(record_pdf(load_record(folder))))


def size_of(pdf: bytes) -> tuple[float, float]:
    box = PdfReader(io.BytesIO(pdf)).pages[0].mediabox
    return float(box.width), float(box.height)


@pytest.fixture(scope="module")
def single() -> VisitRecord:
    return serviced()


@pytest.mark.slow
def test_the_text_is_that_of_the_journal(reviewed):
    record = load_record(reviewed)
    found = pages(record_pdf(record))
    assert len(found) == 2
    text = " ".join(found)
    summary = summary_of(record)
    for told in (summary.site, summary.reference, summary.technician):
        assert told in text
    assert summary.opening.capitalize() in text
    told = "40 of 41 checks pass · 1 not OK · 1 not checked"
    assert f"Out of service Operator off and tagged · {told}" in text
    assert "This service March 4, 2100" in text and "Next service due March 4, 2101" in text
    assert "signed off by J. Lind, March 5, 2100" in text
    assert "replaces neither local codes, nor the authority having jurisdiction" in text
    rows = [row for group in printed_groups(record, printed_words()) for row in group.rows]
    assert len(rows) > 25
    for row in rows:
        line = " ".join(f"{row.found} {row.left} {row.limit} {row.result}".split())
        assert line in text, line
        assert row.source.replace(" ", "") in text.replace(" ", "")
    for note in record.notes:
        assert note.now in text
    assert all(f"journal {record.head}" in page for page in found)
    assert text.count("Stand away from the door") == 1
    assert "Does it stay latched?" in text  # this opening has a strike
    assert "Say in order" not in text and "{" not in text


@pytest.mark.slow
def test_the_verdict_comes_first_and_is_the_largest(reviewed):
    record = load_record(reviewed)
    reader = PdfReader(io.BytesIO(record_pdf(record)))
    sizes: dict[str, float] = {}

    def visit(text: str, _cm: object, _tm: object, _font: object, size: float) -> None:
        if text.strip():
            sizes[text.strip()] = max(size, sizes.get(text.strip(), 0))

    text = reader.pages[0].extract_text(visitor_text=visit)
    assert text.index("Out of service") < text.index("What was wrong") < text.index("as found")
    assert max(sizes, key=lambda each: sizes[each]).startswith("Out of service")


def test_what_was_found_is_what_was_measured_first_and_else_empty(reviewed):
    record = load_record(reviewed)
    rows = {
        (group.subject, row.what): row
        for group in printed_groups(record, printed_words())
        for row in group.rows
    }
    assert rows["left leaf", "opening time"].found == "2.9 s"
    assert rows["right leaf", "opening time"].found == ""


@pytest.mark.slow
def test_a_limit_of_two_sides_is_one_row_and_a_standard_has_its_edition(single):
    rows = [row for group in printed_groups(single, printed_words()) for row in group.rows]
    height = next(row for row in rows if row.what == "plate height")
    assert (height.limit, height.left) == ("34 to 48 in", "42 in, 42 in")
    assert len([row for row in rows if row.what == "plate height"]) == 1
    text = " ".join(pages(record_pdf(single)))
    assert "ANSI/BHMA A156.19 (1997), 4.4" in text
    assert not re.search(
        r"\b(memory|seen)\b", text.partition("Sources")[2].partition("The door")[0]
    )


@pytest.mark.slow
@pytest.mark.parametrize("language", languages())
@pytest.mark.parametrize(("swing", "most"), [(Swing.SINGLE, 1), (Swing.SAME_WAY, 2)])
def test_a_single_leaf_takes_one_page_and_a_pair_two(swing, most, language):
    """The fullest door of the walks, with faults, entries, serial numbers, on either paper."""
    procedure = "yearly-service" if swing is Swing.SINGLE else "new-installation"
    record = serviced(swing, language, procedure=procedure)
    for paper in ("letter", "a4"):
        pdf = record_pdf(record, Letterhead(paper=paper, company="Example Door Service"))
        assert len(pages(pdf)) == most


@pytest.mark.slow
def test_what_is_done_later_never_reads_as_done(reviewed):
    text = text_of(reviewed)
    assert "Not done. It needs another visit; office (J. Lind): return visit" in text
    assert "done later" not in text.lower()
    for language in languages():
        told = printed_words(language).text("word_done_later")
        assert told.startswith(("Not done", "No se hizo"))


def left_open(folder: Path, *items: tuple[str, str, str], weight: str | None = "150") -> Path:
    """A visit with a force that fails and items that were left: key, word, who accepted it."""
    small_visit(folder, readings=FAILING, closed=False, weight=weight)
    with Journal.open(folder, BEGAN) as journal:
        for key, word, by in items:
            if "/" not in key:
                journal.append(ev.StepEnded(key=key, outcome="skipped", reason="no gauge"), BEGAN)
            journal.append(ev.OpenSettled(key=key, word=word, by=by or None), BEGAN)
        journal.append(ev.VisitClosed(), BEGAN)
    return folder


@pytest.mark.parametrize(
    ("language", "verdict", "counts"),
    [
        ("en", "Out of service", "Operator off and tagged"),
        ("es", "Fuera de servicio", "Operador apagado y con aviso"),
    ],
)
def test_a_door_that_is_switched_off_is_out_of_service(tmp_path, language, verdict, counts):
    folder = left_open(tmp_path / "a", ("left leaf/closing force", "tagged_out", ""))
    record = load_record(folder)
    (page,) = pages(record_pdf(record, languages=(language,)))
    assert page.index(verdict) < page.index(counts) < page.index("HH-1")
    assert label_data(record)["verdict"] == "Out of service"


@pytest.mark.parametrize(
    ("word", "language", "counts"),
    [
        ("accepted", "en", "3 not OK · 1 decided by the owner · 2 left to decide"),
        ("done_later", "en", "3 not OK · 3 left to decide"),
        ("accepted", "es", "3 no están bien · 1 decidido por el dueño · 2 por decidir"),
    ],
)
def test_what_the_owner_decided_is_not_left_to_decide(tmp_path, word, language, counts):
    item = ("left leaf/closing force", word, "N. Quist")
    (page,) = pages(record_pdf(load_record(left_open(tmp_path / "a", item)), languages=(language,)))
    assert counts in page


def test_one_thing_that_is_not_ok_is_counted_as_one(tmp_path):
    readings = (("opening_time", "6.2"), ("closing_force", "17"))
    record = load_record(small_visit(tmp_path / "a", readings=readings))
    (page,) = pages(record_pdf(record, languages=("es",)))
    assert "1 no está bien ·" in page


def test_without_a_weight_it_says_what_comes_first_and_names_no_source(tmp_path):
    folder = small_visit(tmp_path / "a", weight=None)
    record = load_record(folder)
    (page,) = pages(record_pdf(record))
    assert "Not fully checked" in page
    rows = [row for group in printed_groups(record, printed_words()) for row in group.rows]
    time = next(row for row in rows if row.what == "opening time")
    assert (time.kind, time.source) == ("unjudged", "")
    assert time.limit == "the weight of the left leaf is needed first"
    other = [row for group in printed_groups(record, printed_words("es")) for row in group.rows]
    assert all("weight" not in row.limit for row in other)


def test_steps_that_were_skipped_for_one_reason_share_a_row(tmp_path):
    steps = [("closing-time:left leaf", "done_later", ""), ("weight:left leaf", "done_later", "")]
    other = ("cycles", "not_applicable", "")
    record = load_record(left_open(tmp_path / "a", *steps, other))
    rows = [row["what"] for row in record_data(record)["problems"]]
    assert "Not checked: closing time, left leaf; weight, left leaf" in rows
    assert len([row for row in rows if row.startswith("Not checked")]) == 2


def test_each_page_of_several_names_the_door_and_the_day(reviewed, single):
    record = load_record(reviewed)
    for page in pages(record_pdf(record)):
        assert f"{record.opening.name.capitalize()}, Harbour Hall, " in page.rpartition("·")[0]
        assert "March 4, 2100 · journal" in page
    (alone,) = pages(record_pdf(single))
    assert "West door, Harbour Hall" not in alone


def test_what_was_filled_in_twice_has_one_name_and_a_note_stands_once(tmp_path):
    used = [VisitFactKept(subject="opening", name="parts_used", value=v) for v in ("pivot", "arm")]
    data = record_data(serviced(Swing.SINGLE, "en", *used))
    parts = [value for name, value in data["noted"] if name == "Parts used"]
    assert parts == ["pivot, two washers; pivot; arm"]
    folder = small_visit(tmp_path / "a", notes=("told the owner",) * 3)
    assert record_data(load_record(folder))["notes"].count("told the owner") == 1


def test_the_door_says_from_where_left_and_right_are_seen(single):
    assert record_data(single)["parts"][0] == ["Left and right as seen from", "corridor"]


@pytest.mark.slow
def test_faults_say_what_was_done_and_who_decides(single, reviewed):
    text = " ".join(pages(record_pdf(single)))
    assert "Left leaf: arm loose reported by the technician" in text
    assert "Repaired (arm); checked again: gone" in text
    rows = record_data(load_record(reviewed))["problems"]
    assert [row["open"] for row in rows] == [True, True, False]
    assert rows[0]["what"] == "right leaf: closing force"
    assert rows[0]["left"] == "Not done. Operator off and tagged; office (J. Lind): return visit"
    assert rows[2]["done"] == "Measured again: passes"


@pytest.mark.slow
def test_the_set_up_and_what_was_filled_in_are_there(single):
    text = " ".join(pages(record_pdf(single)))
    for _, called, name, value in ENTRIES:
        assert f"{called} {name} {value}" in text
    for told in ("OP-20417", "C 88 104", "pivot, two washers", "FG-12", "T-4471"):
        assert told in text
    assert "Owner, or person accepting the door: N. Quist" in text
    assert "Arrival: 22:40" in text  # local time, a day before that of UTC
    assert "This service March 4, 2100" in text


@pytest.mark.slow
def test_the_daily_checks_are_those_of_this_very_door(single):
    checks = " ".join(record_data(single)["daily"])
    assert "sensors" in checks and "fire door" in checks and "the leaf" in checks
    bare = " ".join(record_data(serviced(Swing.SAME_WAY, everything=False))["daily"])
    assert "sensors" not in bare and "fire door" not in bare and "each leaf" in bare
    assert "Say" not in checks and "Diga" not in " ".join(record_data(single, "es")["daily"])


@pytest.mark.slow
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
def test_it_names_itself_and_has_headings_tables_and_lists(single):
    """The rules of PDF/A-2a and PDF/UA-1 are in test_pdf_rules.py."""
    with pikepdf.open(io.BytesIO(record_pdf(single))) as pdf:
        with pdf.open_metadata() as told:
            assert told["dc:title"] == "Record of service, west door"
        tags = {str(each.get("/S")) for each in elements(pdf.Root.StructTreeRoot)}
        assert {"/H1", "/H2", "/Table", "/TH", "/TD", "/L"} <= tags


@pytest.mark.slow
@pytest.mark.parametrize("language", languages())
def test_a_phone_reads_the_code_and_it_is_smaller_than_the_verdict(single, language):
    """Decoded from the picture of the page by zxing-cpp, at the 150 dpi of a plain print."""
    record = single if language == "en" else serviced(language=language)
    page = pypdfium2.PdfDocument(record_pdf(record))[0]
    picture = page.render(scale=150 / 72).to_pil().convert("L")
    (code,) = zxingcpp.read_barcodes(picture)
    assert code.format == zxingcpp.BarcodeFormat.QRCode
    assert code.text == code_text(record, printed_words(language))
    lines = code.text.splitlines()
    assert lines[0] == "west door, Harbour Hall, clinic" and lines[1].endswith("2100-03-04")
    assert lines[2].endswith("2101-03-04") and lines[3].endswith(HEAD[:12])
    corners = code.position
    side = abs(corners.top_right.x - corners.top_left.x) / 150 * 25.4
    assert 12 < side < 21  # mm; the verdict is 140 mm wide


@pytest.mark.slow
def test_without_a_sign_off_an_end_or_a_whole_journal_it_says_so(tmp_path):
    folder = small_visit(tmp_path / "a")
    assert "not signed off yet" in text_of(folder)
    assert "All 5 checks pass" in text_of(folder)
    sign(folder)
    assert "signed off by J. Lind" in text_of(folder)
    amend(folder, "r1", "6.0")
    assert "changed since it was signed off" in text_of(folder)
    begun = small_visit(tmp_path / "b", closed=False)
    text = text_of(begun)
    assert "not set: the visit is not finished" in text and "The visit is not finished" in text
    journal = folder / "journal.jsonl"
    journal.write_bytes(journal.read_bytes().replace(b"listened", b"listens!"))
    run = CliRunner().invoke(main, ["record", str(folder), "--out", str(tmp_path / "r.pdf")])
    assert run.exit_code == 1 and "broken at line" in run.stderr
    text = " ".join(pages((tmp_path / "r.pdf").read_bytes()))
    assert "is broken at line" in text and "do not rely on it" in text
    assert "journal broken" in text and "signed off by" not in text


def test_what_the_visit_agreed_on_is_when_the_next_service_is_due(tmp_path):
    folder = small_visit(tmp_path / "a", readings=(("next_service", "6"),))
    assert "Next service due September 4, 2100" in text_of(folder)


@pytest.mark.slow
def test_it_speaks_the_language_of_the_visit_or_two_side_by_side(single):
    spanish = serviced(language="es")
    text = " ".join(pages(record_pdf(spanish)))
    assert "Constancia de servicio" in text and "4 de marzo de 2100" in text
    assert "Hoja izquierda: brazo flojo" in text and "tiempo de apertura" in text
    assert "¿Se queda enganchada?" in text and "Diga" not in text
    both = record_pdf(single, Letterhead(), ("en", "es"))
    told = " ".join(pages(both))
    assert "Record of service" in told and "Constancia de servicio" in told
    assert size_of(both) == pytest.approx((2 * LETTER[0], LETTER[1]))
    with pikepdf.open(io.BytesIO(both)) as pdf:
        langs = {str(each.Lang) for each in elements(pdf.Root.StructTreeRoot) if "/Lang" in each}
        assert "es" in langs and pdf.Root.Lang == "en"


@pytest.mark.parametrize("language", languages())
def test_every_language_prints_every_text_with_the_same_values(language):
    def values(text: str | list[str]) -> set[str]:
        return set(re.findall(r"{(\w+)}", "".join(text)))

    english, other = printed_words().texts, printed_words(language).texts
    assert other.keys() == english.keys()
    for key, text in english.items():
        if key != "months":
            assert values(other[key]) == values(text), key
    assert len(other["months"]) == 12


@pytest.mark.slow
def test_the_company_stands_on_its_paper(single):
    logo = b'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 9 9"><path d="M0 0h9v9z"/></svg>'
    head = Letterhead(company="Example Doors", address="1 Example Street", logo=logo, paper="a4")
    pdf = record_pdf(single, head)
    assert size_of(pdf) == pytest.approx(A4, abs=0.01)
    assert size_of(record_pdf(single)) == pytest.approx(LETTER, abs=0.01)
    text = " ".join(pages(pdf))
    assert "Example Doors" in text and "1 Example Street" in text
    with pikepdf.open(io.BytesIO(pdf)) as opened:
        alts = {str(each.Alt) for each in elements(opened.Root.StructTreeRoot) if "/Alt" in each}
    assert "Logo of Example Doors" in alts


HOSTILE = [
    "#panic(1) $x$ *b* _i_ `c` <l> @r [x] {y} \\ // /* \" ' = #set page(width: 1cm)",
    "W" * 3000,
    "long words " * 400,
    "\u202edoor\u202c \u0000\u0007\x1b[31m \u200f line\nbreak\ttab \U000e0041",
    "<script>alert(1)</script>",
    "Ünïcödé Ελληνικά Кириллица 漢字 \U0001f6aa e\u0301",
    "\ud800 lone \udfff",
]


@pytest.mark.slow
@pytest.mark.parametrize("said", HOSTILE[:-1])
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
        margin = round(14 / 25.4 * 72 * 2)
        assert (picture[:, :margin] == 255).all() and (picture[:, -margin:] == 255).all()
        assert (picture[: margin // 2] == 255).all() and (picture[-margin // 2 :] == 255).all()


@pytest.mark.parametrize("said", HOSTILE)
def test_a_text_in_print_is_one_line_of_letters_that_the_fonts_have(said):
    shown = printed_text(said, 90)
    assert len(shown.replace("\u200b", "")) <= 90
    assert set(shown) <= set(letters()) | {" ", "\u200b", MISSING}


@pytest.mark.slow
def test_the_fonts_have_every_letter_that_counts_as_printable(monkeypatch):
    """The compiler refuses a PDF/A with a letter that no font has."""
    from handsfree.reports import typeset

    source = (
        b"#let d = json(bytes(sys.inputs.data))\n"
        b'#set document(title: "t", date: datetime(year: 2100, month: 1, day: 1))\n'
        b'#set text(font: "Libertinus Serif", lang: "en")\n#for each in d.texts [#each ]'
    )
    monkeypatch.setattr(typeset, "_source", lambda _: source)
    texts = [f"a{letter}" for letter in letters()]
    assert typeset_pdf("any", {"texts": texts}, JournalError, standards=STANDARDS)
    with pytest.raises(JournalError):
        typeset_pdf("any", {"texts": ["\U0001f6aa"]}, JournalError, standards=STANDARDS)


def test_markup_is_shown_as_it_was_said(tmp_path):
    said = "#panic(1) $x$ *b* `c` <script>"
    assert said in text_of(small_visit(tmp_path / "a", notes=(said,)))


@pytest.mark.slow
def test_many_readings_go_on_with_their_heading(tmp_path):
    quantities = ("opening_time", "closing_time", "opening_force", "closing_force", "cycles")
    readings = tuple((quantities[n % 5], str(5 + n % 3)) for n in range(30))
    folder = small_visit(
        tmp_path / "a", readings=readings, notes=tuple(f"a note {n}" for n in range(80))
    )
    found = pages(record_pdf(load_record(folder)))
    assert len(found) >= 2
    assert all(f"page {n} of {len(found)}" in page for n, page in enumerate(found, start=1))
    assert "Every day, by the owner" in " ".join(found)
    assert " ".join(found).count("• a note") == 60
    assert "and 20 more, in the report" in " ".join(found)


def test_texts_are_cut_at_what_a_page_holds(tmp_path):
    folder = small_visit(tmp_path / "a", name="n" * 500, notes=("w " * 5000,))
    data = record_data(load_record(folder))
    assert len(data["opening"].replace("\u200b", "")) == 90 and data["opening"].endswith("…")
    assert all(len(note) <= 400 for note in data["notes"])


@pytest.mark.slow
def test_the_command_writes_beside_the_journal(tmp_path):
    folder = small_visit(tmp_path / "a")
    run = CliRunner().invoke(main, ["record", str(folder)])
    assert run.exit_code == 0, run.output
    assert (folder / "record.pdf").read_bytes().startswith(b"%PDF-")
    run = CliRunner().invoke(main, ["record", str(folder), "--out", "/proc/none/x"])
    assert run.exit_code == 2 and "could not be written" in run.stderr
    run = CliRunner().invoke(main, ["record", str(folder), "--language", "en+xx"])
    assert run.exit_code == 2 and "en, es, or two of them, such as en+es" in run.stderr
