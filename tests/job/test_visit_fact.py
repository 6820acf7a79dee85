"""Visit facts: one table for each, and all can be spoken in every language."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from handsfree.job.reading import Subject
from handsfree.job.visit_fact import VISIT_FACTS, as_code, is_date, visit_fact_words
from handsfree.language.interpreter import Language
from handsfree.language.visit_fact_words import spoken_value
from handsfree.language.wording import languages, wording

VALUES = {
    "code": "AB7-42",
    "words": "two screws",
    "date": "2026-03",
    "moment": "",
}


@pytest.mark.parametrize("language", languages())
def test_every_fact_can_be_typed_with_its_value(language):
    spoken = Language.load(language=language)
    for name, fact in VISIT_FACTS.items():
        words = visit_fact_words(name, language)
        for form in words.say:
            plain = " ".join(_without_options(form).split())
            value = VALUES.get(fact.takes, "")
            if fact.takes == "choice":
                continue
            meaning = spoken.parse(f"{plain} {value}".strip())
            assert meaning is not None and meaning.kind == "visit_fact", (name, plain)
            assert (meaning.fact, meaning.value or "") == (name, value)


@pytest.mark.parametrize(
    ("language", "said", "value"),
    [
        ("en", "operator serial alpha seven four two", "A742"),
        ("es", "número de serie del operador alfa siete cuatro dos", "A742"),
        ("es", "medidor calibrado marzo de dos mil veintiséis", "2026-03"),
        ("es", "etiqueta de inspección puesta", "put_on"),
        ("en", "inspection label missing", "missing"),
        ("en", "tape calibrated december two zero three nine", "2039-12"),
    ],
)
def test_a_value_is_spoken_by_the_words_of_its_language(language, said, value):
    meaning = Language.load(language=language).parse(said)
    assert (None if meaning is None else meaning.value) == value


@pytest.mark.parametrize(
    "said", ["operator serial foo", "tape calibrated 2026-13", "gauge calibrated yesterday"]
)
def test_what_a_fact_cannot_be_is_not_understood(said):
    assert Language.load().parse(said) is None


@pytest.mark.parametrize(
    ("language", "name", "value", "spoken"),
    [
        ("en", "operator_serial", "A7-42", "alpha seven - four two"),
        ("en", "gauge_calibrated", "2026-03-14", "March one four, two zero two six"),
        ("es", "gauge_calibrated", "2026-03", "marzo de dos cero dos seis"),
        ("es", "inspection_label", "put_on", "puesta"),
    ],
)
def test_a_value_is_read_back(language, name, value, spoken):
    assert spoken_value(wording(language), name, value) == spoken


@given(st.dates(date(1990, 1, 1), date(2099, 12, 31)))
def test_every_day_and_every_month_is_a_date(day):
    assert is_date(day.isoformat()) and is_date(day.isoformat()[:7])


@given(st.text(max_size=12))
def test_a_date_is_one_that_the_calendar_has(text):
    if is_date(text):
        assert date.fromisoformat(text if len(text) > 7 else f"{text}-01")


@given(st.text(max_size=60))
def test_a_typed_code_is_one_that_the_journal_takes(text):
    code = as_code(text)
    if code is not None:
        VISIT_FACTS["operator_serial"].refuse(Subject.LEFT_LEAF, code)
        assert as_code(code) == code


@pytest.mark.parametrize(
    ("name", "subject", "value"),
    [
        ("operator_serial", Subject.OPENING, ""),
        ("operator_serial", Subject.OPENING, "a742"),
        ("operator_serial", Subject.MOTOR_ONE, "A742"),
        ("controller_serial", Subject.LEFT_LEAF, "A742"),
        ("arrival", Subject.OPENING, "now"),
        ("inspection_label", Subject.OPENING, "torn"),
        ("gauge_calibrated", Subject.OPENING, "2026-02-30"),
        ("parts_used", Subject.OPENING, "a\nb"),
    ],
)
def test_any_other_value_is_refused(name, subject, value):
    with pytest.raises(ValueError, match=name):
        VISIT_FACTS[name].refuse(subject, value)


def _without_options(form: str) -> str:
    """A form without what stands in brackets, and with the first of each choice."""
    out, depth = "", 0
    for letter in form:
        depth += letter == "["
        if not depth:
            out += letter
        depth -= letter == "]"
    while "(" in out:
        before, _, rest = out.partition("(")
        choice, _, after = rest.partition(")")
        out = f"{before}{choice.split('|')[0]}{after}"
    return out
