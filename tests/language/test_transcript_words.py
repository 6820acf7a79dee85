"""A general recognizer's text, converted to the spoken words."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from handsfree.language.interpreter import Language
from handsfree.language.meaning import ReadingSaid
from handsfree.language.transcript_words import transcript_words
from handsfree.language.wording import wording

LANGUAGE = Language.load()


def value(text: str) -> Decimal | None:
    meaning = LANGUAGE.parse(transcript_words(LANGUAGE, text))
    return meaning.value if isinstance(meaning, ReadingSaid) else None


# Texts as Whisper tiny.en wrote them of synthetic voices (seen).
@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("Left leaf opening time 3.7 seconds.", "left leaf opening time three point seven seconds"),
        ("36 inches.", "three six inches"),
        ("1,250", "one two five zero"),
        ("Cycles 1 2 5", "cycles one two five"),
        ("Cycles 1-2-5.", "cycles one two five"),
        ("3-3-second.", "three three second"),
        ("3-13", "three one three"),
        ("The left leaf 8 2.5", "the left leaf eight two point five"),
        ("Correction the right leaf.74.", "correction the right leaf point seven four"),
        ("Right leaf-latching 4.", "right leaf latching four"),
        ("Right, leaf closing time 6.2.", "right leaf closing time six point two"),
        (".5", "point five"),
        ("0.05.", "zero point zero five"),
        ("correction 3.76", "correction three point seven six"),
        ("Affirm.", "affirm"),
    ],
)
def test_digits_commas_and_capitals_become_words(text, words):
    assert transcript_words(LANGUAGE, text) == words
    assert LANGUAGE.parse(words) is not None


@pytest.mark.parametrize(
    "text",
    [
        "3 .7 6",
        "$3.70",
        "3/7",
        "-5",
        "125 6.2",
        "1,25",
        "12,5",
        "3.7.6",
        "The cat sat.",
        "3.7 %",
        "",
    ],
)
def test_what_cannot_be_said_is_no_sentence(text):
    assert LANGUAGE.parse(transcript_words(LANGUAGE, text)) is None


@given(st.decimals(min_value=0, max_value=999, places=2))
def test_a_written_value_keeps_every_digit(number):
    assert value(f"{number:f}") == number


@given(st.integers(min_value=1000, max_value=9999))
def test_thousands_are_the_same_with_a_comma_and_without(number):
    assert value(f"{number:,}") == value(str(number)) == number


@given(st.text(max_size=60))
def test_any_text_gives_words_that_give_themselves_again(text):
    words = transcript_words(LANGUAGE, text)
    assert transcript_words(LANGUAGE, words) == words or LANGUAGE.parse(words) is None


def test_a_word_is_put_right_only_where_that_makes_a_sentence(monkeypatch):
    names = {**LANGUAGE.wording.names, "misheard": {"forest": "force"}}
    monkeypatch.setattr(LANGUAGE.wording, "names", names)
    assert (
        transcript_words(LANGUAGE, "Closing forest 12 newtons") == "closing force one two newtons"
    )
    assert transcript_words(LANGUAGE, "A forest fire") == "a forest fire"


def test_every_word_that_is_put_right_becomes_one_of_the_grammar():
    for wrong, right in wording().names["misheard"].items():
        assert set(right.split()) <= LANGUAGE.words(), f"{wrong} = {right}"
