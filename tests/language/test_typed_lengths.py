"""Typed fractions, feet and inches, and sizes."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from handsfree.language.interpreter import Language


@pytest.mark.parametrize(
    ("typed", "value", "unit"),
    [
        ("4 1/2", "4.5", None),
        ('35 7/8"', "35.875", "in"),
        ("35 7/8", "35.875", "in"),
        ("7/8", "0.875", "in"),
        ("3/4 in", "0.75", "in"),
        ("36½", "36.5", None),
        ("1/2 s", "0.5", "s"),
        ("100 1/2", "100.5", None),
        ("6'8\"", "80", "in"),
        ("6' 8\"", "80", "in"),
        ("leaf height 6'-8\"", "80", "in"),
        ("leaf height 7'", "7", "ft"),
    ],
)
def test_a_typed_length_is_what_it_says(language: Language, typed, value, unit):
    reading = language.parse(typed)
    assert (str(reading.value), reading.unit) == (value, unit)


@pytest.mark.parametrize(
    ("typed", "width", "height"),
    [
        ("3-0 x 7-0", "36", "84"),
        ("left leaf 3-0 x 6-8", "36", "80"),
        ("36 x 84", "36", "84"),
        ("36x84", "36", "84"),
        ("36 by 84", "36", "84"),
        ("left leaf 36 By 84", "36", "84"),
        ('36" by 84"', "36", "84"),
        ("3-0 by 7-0", "36", "84"),
        ('36" x 84"', "36", "84"),
        ("3'0\" x 7'0\"", "36", "84"),
        ("3' x 7'", "36", "84"),
        ("36 x 108", "36", "108"),
        ("35 7/8 x 83 1/4", "35.875", "83.25"),
    ],
)
def test_a_typed_size_is_a_width_and_a_height(language: Language, typed, width, height):
    wide, high = language.parse(typed).readings
    assert (str(wide.value), str(high.value)) == (width, height)


@pytest.mark.parametrize(
    "typed",
    ["3-0 x 7-13", "36 x", "x 84", "it shows x", "36 x 84 x 2", "36 by 84 by 2", "36 by", "0 1/2"],
)
def test_what_is_no_length_stays_as_typed(language: Language, typed):
    assert language.parse(typed) is None


def test_a_size_is_typed_in_spanish_words():
    wide, high = Language.load(language="es").parse("36 por 84").readings
    assert (str(wide.value), str(high.value)) == ("36", "84")


@pytest.mark.slow
@given(st.integers(1, 99), st.sampled_from([2, 4, 8, 16]), st.data())
def test_a_typed_fraction_keeps_its_value(language: Language, whole, parts, data):
    """Values of the standard library's Fraction."""
    mark = data.draw(st.sampled_from(range(1, parts, 2)))
    value = language.parse(f"left leaf width {whole} {mark}/{parts} in").value
    assert Fraction(value) == whole + Fraction(mark, parts)


def test_spanish_lines_take_the_same():
    spanish = Language.load(language="es")
    assert str(spanish.parse('35 7/8"').value) == "35.875"
    assert str(spanish.parse("6'8\"").value) == "80"
    assert [int(each.value) for each in spanish.parse("3-0 x 7-0").readings] == [36, 84]
