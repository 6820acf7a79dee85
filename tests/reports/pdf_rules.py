"""Rules of PDF/A-2a and PDF/UA-1 that a general PDF library can check, with their clauses.

ISO 19005-2:2011 and ISO 14289-1:2014; the clauses are from memory. Each rule yields one sentence
per violation. Not covered, because they need a validator: glyph widths, the ICC profile's validity,
the schema of the XMP beyond what is read here.
"""

from __future__ import annotations

import io
from collections.abc import Iterator

import pikepdf

PAINTS = frozenset(
    ("Tj", "TJ", "'", '"', "f", "F", "f*", "S", "s", "B", "B*", "b", "b*", "sh", "Do")
)
"""Operators that put something on a page (ISO 32000-1, table 51)."""
_TAGS = """Document Part Art Sect Div BlockQuote Caption TOC TOCI Index NonStruct Private P H H1 H2
H3 H4 H5 H6 L LI Lbl LBody Table TR TH TD THead TBody TFoot Span Quote Note Reference BibEntry
Code Link Annot Ruby Warichu Figure Formula Form"""
STANDARD_TAGS = frozenset(f"/{tag}" for tag in _TAGS.split())
"""Standard structure types (ISO 32000-1, 14.8.4)."""
FORBIDDEN_ACTIONS = ("/JavaScript", "/Launch", "/Sound", "/Movie", "/ResetForm", "/ImportData")


def broken_rules(content: bytes) -> list[str]:
    """The violations, one sentence each; empty for a document that keeps all rules."""
    with pikepdf.open(io.BytesIO(content)) as pdf:
        found = [*_file(content, pdf), *_metadata(pdf), *_color(pdf), *_fonts(pdf)]
        return [*found, *_actions(pdf), *_structure(pdf), *_pages(pdf)]


def elements(node: pikepdf.Object) -> list[pikepdf.Object]:
    """Every element of a structure tree, in the order of reading."""
    found, left = [], [node]
    while left:
        here = left.pop()
        if isinstance(here, pikepdf.Array):
            left.extend(reversed(list(here)))
        elif isinstance(here, pikepdf.Dictionary):
            found.append(here)
            if "/K" in here:
                left.append(here.K)
    return found


def _objects(pdf: pikepdf.Pdf, kind: str) -> list[pikepdf.Object]:
    dictionaries = (each for each in pdf.objects if isinstance(each, pikepdf.Dictionary))
    return [each for each in dictionaries if each.get("/Type") == kind]


def _file(content: bytes, pdf: pikepdf.Pdf) -> Iterator[str]:
    """ISO 19005-2, 6.1.2 and 6.1.3: header, binary marker, ID, no encryption, nothing outside."""
    first, _, rest = content.partition(b"\n")
    if not first.startswith(b"%PDF-1."):
        yield "6.1.2: the header is not %PDF-1.n"
    if rest[:1] != b"%" or sum(byte > 127 for byte in rest[1:5]) < 4:
        yield "6.1.2: no comment of four bytes above 127 follows the header"
    if "/ID" not in pdf.trailer or "/Encrypt" in pdf.trailer:
        yield "6.1.3: the trailer has no ID, or the file is encrypted"
    for each in pdf.objects:
        if isinstance(each, pikepdf.Stream) and (
            "/F" in each or "/LZWDecode" in str(each.get("/Filter"))
        ):
            yield "6.1.7: a stream lies outside of the file, or is compressed by LZW"
    if pdf.attachments or "/OCProperties" in pdf.Root:
        yield "6.8, 6.9: there are attachments or optional content"


def _metadata(pdf: pikepdf.Pdf) -> Iterator[str]:
    """ISO 19005-2, 6.6.2 and 6.6.4; ISO 14289-1, clauses 5 and 7.1: identification, title."""
    if "/Filter" in pdf.Root.Metadata:
        yield "6.6.2: the XMP packet is compressed"
    with pdf.open_metadata() as told:
        if (told.get("pdfaid:part"), told.get("pdfaid:conformance")) != ("2", "A"):
            yield "6.6.4: it does not name itself PDF/A-2a"
        if told.get("pdfuaid:part") != "1":
            yield "UA 5: it does not name itself PDF/UA-1"
        if not told.get("dc:title") or told["dc:title"] != str(pdf.docinfo.get("/Title")):
            yield "UA 7.1: it has no title, or two"
        if told.get("dc:language") and str(pdf.Root.get("/Lang")) not in told["dc:language"]:
            yield "UA 7.2: its language is not that of its metadata"
    if not pdf.Root.get("/ViewerPreferences", {}).get("/DisplayDocTitle"):
        yield "UA 7.1: a reader shows the file's name instead of the title"


def _color(pdf: pikepdf.Pdf) -> Iterator[str]:
    """ISO 19005-2, 6.2.3 and 6.2.4: one output intent with its profile; no other device's color."""
    intents = [each for each in pdf.Root.get("/OutputIntents", []) if each.S == "/GTS_PDFA1"]
    if len(intents) != 1 or "/DestOutputProfile" not in intents[0]:
        yield "6.2.3: there is not one output intent with a profile"
        return
    if intents[0].DestOutputProfile.N != 3:
        yield "6.2.4: the output profile is not one of three colors"
    for page in pdf.pages:
        for step in pikepdf.parse_content_stream(page):
            if str(step.operator) in ("k", "K"):
                yield "6.2.4: a color of another device is used"


def _fonts(pdf: pikepdf.Pdf) -> Iterator[str]:
    """ISO 19005-2, 6.2.11; ISO 14289-1, 7.21: fonts are inside, and letters have their code."""
    fonts = _objects(pdf, "/Font")
    if not fonts:
        yield "6.2.11: it has no font"
    for font in fonts:
        name = str(font.get("/BaseFont"))
        if font.Subtype == "/Type0" and "/ToUnicode" not in font:
            yield f"6.2.11.7: the letters of {name} have no Unicode"
        if str(font.Subtype).startswith("/CIDFont"):
            told = font.get("/FontDescriptor", {})
            if not any(key in told for key in ("/FontFile", "/FontFile2", "/FontFile3")):
                yield f"6.2.11.4: the font {name} is not inside"
            if font.Subtype == "/CIDFontType2" and "/CIDToGIDMap" not in font:
                yield f"6.2.11.3: the font {name} does not map its letters"


def _actions(pdf: pikepdf.Pdf) -> Iterator[str]:
    """ISO 19005-2, 6.5: nothing runs."""
    if (
        "/AA" in pdf.Root
        or "/OpenAction" in pdf.Root
        or "/JavaScript" in pdf.Root.get("/Names", {})
    ):
        yield "6.5: something happens when it is opened"
    for each in pdf.objects:
        if isinstance(each, pikepdf.Dictionary) and str(each.get("/S")) in FORBIDDEN_ACTIONS:
            yield f"6.5.1: an action {each.S}"


def _structure(pdf: pikepdf.Pdf) -> Iterator[str]:
    """ISO 19005-2, 6.7; ISO 14289-1, 7.1 to 7.5: tags, language, pictures, headings, tables."""
    root = pdf.Root
    marked = root.get("/MarkInfo", {})
    if "/StructTreeRoot" not in root or not marked.get("/Marked") or marked.get("/Suspects"):
        yield "6.7.2: it is not tagged"
        return
    if not str(root.get("/Lang", "")):
        yield "6.7.4: it has no language"
    roles = root.StructTreeRoot.get("/RoleMap", {})
    last = 0
    for each in elements(root.StructTreeRoot):
        tag = str(each.get("/S", ""))
        if not tag:
            continue
        if tag not in STANDARD_TAGS and str(roles.get(tag)) not in STANDARD_TAGS:
            yield f"6.7.3: the tag {tag} means nothing standard"
        if tag in ("/Figure", "/Formula") and not (
            str(each.get("/Alt", "")) or "/ActualText" in each
        ):
            yield "UA 7.3: a picture has no text"
        if tag[1:2] == "H" and tag[2:].isdecimal():
            if int(tag[2:]) > last + 1:
                yield f"UA 7.4: the heading {tag} follows one of level {last}"
            last = int(tag[2:])
        if tag == "/TH" and not _scope(each):
            yield "UA 7.5: a heading of a table has no scope"


def _scope(cell: pikepdf.Object) -> bool:
    told = cell.get("/A", pikepdf.Array())
    return any("/Scope" in each for each in (told if isinstance(told, pikepdf.Array) else [told]))


def _pages(pdf: pikepdf.Pdf) -> Iterator[str]:
    """ISO 14289-1, 7.1 and 7.18: all that is painted is tagged or an artifact; order of tabs."""
    referred: dict[int, set[int]] = {}
    for each in elements(pdf.Root.StructTreeRoot):
        kids = each.get("/K")
        for kid in kids if isinstance(kids, pikepdf.Array) else [kids]:
            page = each.get("/Pg")
            if isinstance(kid, pikepdf.Dictionary) and kid.get("/Type") == "/MCR":
                page, kid = kid.get("/Pg", page), kid.MCID
            if isinstance(kid, int) and page is not None:
                referred.setdefault(page.objgen[0], set()).add(kid)
    for nth, page in enumerate(pdf.pages, start=1):
        depth, seen = 0, set()
        for step in pikepdf.parse_content_stream(page):
            operator = str(step.operator)
            if operator in ("BMC", "BDC"):
                depth += 1
                told = step.operands[1] if operator == "BDC" else None
                if isinstance(told, pikepdf.Dictionary) and "/MCID" in told:
                    seen.add(int(told.MCID))
            elif operator == "EMC":
                depth -= 1
            elif operator in PAINTS and not depth:
                yield f"UA 7.1: page {nth} paints ({operator}) outside of tags and artifacts"
        if seen != referred.get(page.obj.objgen[0], set()):
            yield f"UA 7.1: page {nth} has marked content that the tags do not have, or the reverse"
        if page.obj.get("/Tabs") != "/S":
            yield f"UA 7.18.3: the order of tabs on page {nth} is not that of the tags"
        for note in page.obj.get("/Annots", []):
            if note.Subtype != "/Link" or "/Contents" not in note or "/StructParent" not in note:
                yield f"UA 7.18: an annotation {note.Subtype} on page {nth} without text or tag"
