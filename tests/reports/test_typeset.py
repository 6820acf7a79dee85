"""Pages set by typst."""

from __future__ import annotations

import io

import pytest
from pypdf import PdfReader

from handsfree.errors import ControllerError
from handsfree.reports import typeset


def test_a_page_that_cannot_be_set_is_one_line_of_the_callers_kind(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(typeset, "_source", lambda _: b'#panic("no")')
    with pytest.raises(ControllerError, match=r"^the page cannot be set: ") as caught:
        typeset.typeset_pdf("any.typ", {}, ControllerError)
    assert "\n" not in str(caught.value)


def test_texts_go_in_as_data_and_not_as_markup(monkeypatch: pytest.MonkeyPatch) -> None:
    source = b"#let data = json(bytes(sys.inputs.data))\n#set document(date: none)\n#data.text"
    monkeypatch.setattr(typeset, "_source", lambda _: source)
    made = typeset.typeset_pdf("any.typ", {"text": "*#panic()*"}, ControllerError)
    assert PdfReader(io.BytesIO(made)).pages[0].extract_text().strip() == "*#panic()*"
    # The same data give the same bytes: without a date of its own, the compiler writes the clock's.
    assert made == typeset.typeset_pdf("any.typ", {"text": "*#panic()*"}, ControllerError)
