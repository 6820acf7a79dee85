import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from handsfree.language.interpreter import Language
from handsfree.language.typed_text import spoken_form
from handsfree.language.wording import wording


@pytest.mark.parametrize(
    ("typed", "spoken"),
    [
        ("6.2", "six point two"),
        ("6.20 s", "six point two zero seconds"),
        (".5", "point five"),
        ("Left leaf, opening time: 6.2 s.", "left leaf opening time six point two seconds"),
        ("125lb", "one two five pounds"),
        ('36"', "three six inches"),
        ("3 ft", "three feet"),
        ("12 lbf", "one two pounds force"),
        ("in order", "in order"),
        ("thirty-six in", "thirty six in"),
        ("That's correct!", "that is correct"),
        ("motor 1 left hand", "motor one left hand"),
    ],
)
def test_text_becomes_the_words_that_would_be_said(typed: str, spoken: str):
    assert " ".join(spoken_form(typed, wording("en"))) == spoken


@pytest.mark.parametrize(
    "typed",
    [
        "-5",
        "6,2",
        "1,250 mm",
        "6 5",
        "6. 5",
        "6..2",
        "6.2.3",
        "1e5",
        "007",
        "36 1/3",
        "36 9/8",
        "007 1/2",
        "1/2/4",
        "6.5 1/2",
        "6'14\"",
        "3-0",
        "٣",
        "²",
    ],
)
def test_a_number_that_could_be_misread_is_refused(language: Language, typed: str):
    assert language.parse(typed) is None


def test_zeros_are_kept_as_typed(language: Language):
    assert str(language.parse("6.20").value) == "6.20"
    assert str(language.parse("0.50").value) == "0.50"


@given(st.lists(st.sampled_from(["6", "6.", ".2", "s", "in", "left leaf", ",", "'", "-", " "])))
def test_a_typed_value_is_never_pieced_together(language: Language, pieces: list[str]):
    text = "".join(pieces)
    meaning = language.parse(text)
    if meaning is not None and meaning.kind == "reading":
        feet = re.search(r"(?<![6.])6 *' *-? *6(?!6|\.\d)", text)
        if feet and meaning.value == 78:  # 6 feet 6
            return
        assert str(meaning.value).removeprefix("0") in text


@given(st.decimals(0, 999, places=2))
def test_a_typed_number_keeps_its_value(language: Language, value):
    assert str(language.parse(f"{value:f}").value) == f"{value:f}"
