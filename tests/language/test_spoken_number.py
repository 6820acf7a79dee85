"""Every number that can be spoken gives the right Decimal."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st
from num2words import num2words
from text_to_num import alpha2digit

from handsfree.errors import BadValue
from handsfree.language.interpreter import Language
from handsfree.language.spoken_number import number_of

ONES = ["zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine"]
TEENS = ["ten", "eleven", "twelve", "thirteen", "fourteen"] + [
    f"{word}teen" for word in ("fif", "six", "seven", "eigh", "nine")
]
TENS = ["", "", "twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"]
FRACTIONS = {
    "a half": Decimal("0.5"),
    "one half": Decimal("0.5"),
    "a quarter": Decimal("0.25"),
    "one quarter": Decimal("0.25"),
    "three quarters": Decimal("0.75"),
}


@pytest.mark.parametrize(
    ("said", "value"),
    [
        ("six point two", "6.2"),
        ("six point oh five", "6.05"),
        ("six decimal two", "6.2"),
        ("point five", "0.5"),
        ("zero point five", "0.5"),
        ("oh point five", "0.5"),
        ("six point two zero", "6.20"),
        ("six point twenty five", "6.25"),
        ("three point one two five", "3.125"),
        ("thirty six", "36"),
        ("one hundred", "100"),
        ("a hundred and five", "105"),
        ("one hundred twenty five", "125"),
        ("one hundred and twenty five", "125"),
        ("one twenty five", "125"),
        ("one oh five", "105"),
        ("one two five", "125"),
        ("three five", "35"),
        ("niner niner", "99"),
        ("four and a half", "4.5"),
        ("a half", "0.5"),
        ("three and a quarter", "3.25"),
        ("three and three quarters", "3.75"),
        ("one hundred and a half", "100.5"),
        ("nine hundred fourteen", "914"),
        ("nine fourteen", "914"),
        ("two thousand one hundred", "2100"),
        ("twenty one hundred", "2100"),
        ("twenty one thirty four", "2134"),
        ("two thousand and five", "2005"),
        ("two one three four", "2134"),
        ("nineteen oh five", "1905"),
        ("six point oh", "6.0"),
        ("six point oh five", "6.05"),
        ("one oh five point oh", "105.0"),
        ("three zero point five", "30.5"),
        ("two zero", "20"),
    ],
)
def test_the_forms_that_people_use(language: Language, said: str, value: str):
    assert str(language.number(said)) == value


@pytest.mark.parametrize(
    "said",
    [
        *("", "oh", "point", "six point", "point point five", "six point two point one"),
        *("zero five", "oh five", "twenty one five", "ten five", "thirty twelve hundred"),
        *("six and half", "and a half", "six point two and a half", "hundred", "minus five"),
        *("one hundred one hundred", "one two three four five", "twenty hundred"),
        *("two oh", "nine oh", "one two oh", "one oh oh", "two one three oh"),
        *("six point two oh", "six point oh oh", "two oh point two", "six point one two oh"),
    ],
)
def test_what_is_no_number_has_no_value(language: Language, said: str):
    assert language.number(said) is None


def below_hundred(number: int) -> str:
    if number < 10:
        return ONES[number]
    if number < 20:
        return TEENS[number - 10]
    return TENS[number // 10] + (f" {ONES[number % 10]}" if number % 10 else "")


@st.composite
def whole_numbers(draw) -> tuple[str, int]:
    """A whole number to 999 in one of the forms people use, rendered by this test alone."""
    number = draw(st.integers(0, 999))
    hundreds, rest = divmod(number, 100)
    forms = [" ".join(ONES[int(digit)] for digit in str(number))]
    if number < 100:
        forms.append(below_hundred(number))
    else:
        joins = draw(st.sampled_from([" ", " and "]))
        name = draw(st.sampled_from([ONES[hundreds], "a" if hundreds == 1 else ONES[hundreds]]))
        forms.append(f"{name} hundred" + (joins + below_hundred(rest) if rest else ""))
        if rest >= 10:
            forms.append(f"{ONES[hundreds]} {below_hundred(rest)}")
        elif rest:
            forms.append(f"{ONES[hundreds]} oh {ONES[rest]}")
    words = draw(st.sampled_from(forms)).split()
    return " ".join(_varied(draw, word) for word in words), number


def _varied(draw, word: str) -> str:
    return draw(st.sampled_from(["nine", "niner"])) if word == "nine" else word


@st.composite
def numbers(draw) -> tuple[str, Decimal]:
    said, whole = draw(whole_numbers())
    match draw(st.sampled_from(["whole", "decimal", "fraction"])):
        case "decimal":
            digits = draw(st.text("0123456789", min_size=1, max_size=3))
            # At the end 'oh' is a zero only where it is the only decimal.
            may_end = len(digits) == 1
            decimals = " ".join(
                draw(st.sampled_from(["zero", "oh"] if n < len(digits) or may_end else ["zero"]))
                if d == "0"
                else _varied(draw, ONES[int(d)])
                for n, d in enumerate(digits, start=1)
            )
            if len(digits) == 2 and digits[0] != "0":
                decimals = draw(st.sampled_from([decimals, below_hundred(int(digits))]))
            point = draw(st.sampled_from(["point", "decimal"]))
            start = draw(st.sampled_from([said, "", "oh"])) if whole == 0 else said
            return f"{start} {point} {decimals}".strip(), Decimal(f"{whole}.{digits}")
        case "fraction" if whole:
            fraction = draw(st.sampled_from(sorted(FRACTIONS)))
            return f"{said} and {fraction}", whole + FRACTIONS[fraction]
        case _:
            return said, Decimal(whole)


@given(numbers())
def test_any_number_that_can_be_said_comes_back_as_the_right_decimal(language: Language, number):
    said, value = number
    parsed = language.number(said)
    # As text, so that a lost or added trailing zero counts.
    assert str(parsed) == str(value)


@pytest.mark.slow
@given(numbers())
def test_no_number_ends_in_oh_after_a_digit(language: Language, number):
    """A 'two' said alone was heard as 'two oh', and filed as 20 it is a wrong digit."""
    said, _ = number
    if said.split()[-1] in {*ONES, "niner"}:
        assert language.number(f"{said} oh") is None
        assert language.number(f"{said} oh point five") is None
        assert language.parse(f"left leaf opening time {said} oh") is None


def test_the_automaton_has_no_end_in_oh_after_a_digit(language: Language):
    """Over every sentence of a number: before a last 'oh' stands 'point' or 'decimal' alone."""
    automaton = language.automaton("number")
    point = {at for at, word, _ in automaton.arcs if word == "point"}
    ends = automaton.finals | point
    last_oh = {at for at, word, to in automaton.arcs if word == "oh" and to in ends}
    before = {word for _, word, to in automaton.arcs if to in last_oh}
    assert last_oh - {automaton.start} and before == {"point", "decimal"}


@given(st.integers(0, 9999), st.booleans())
def test_whole_numbers_agree_with_num2words(language: Language, number: int, with_and: bool):
    """Rendering by num2words (PyPI), an implementation that knows nothing of ours."""
    said = num2words(number).replace(",", "").replace("-", " ")
    if not with_and:
        said = said.replace(" and ", " ")
    assert language.number(said) == number


@given(st.integers(0, 999_999))
def test_decimals_agree_with_num2words(language: Language, thousandths: int):
    value = Decimal(thousandths) / 1000
    assert language.number(num2words(value)) == value


@pytest.mark.slow
def test_our_sentences_agree_with_text2num_where_it_can_read_them(language: Language):
    """Reading by text2num (PyPI): what it cannot read it leaves as words or apart."""
    rng = Random(11)
    compared = 0
    for _ in range(3000):
        said = language.sentence(rng, "number")
        theirs = alpha2digit(said.replace(" decimal ", " point "), "en")
        if theirs.replace(".", "", 1).isdecimal():
            assert Decimal(theirs) == language.number(said), said
            compared += 1
    assert compared > 500


def test_digits_that_write_no_number_are_refused():
    for digits in ([], ["."], ["6", "."], ["6", ".5", ".5"]):
        with pytest.raises(BadValue):
            number_of(digits)


# --- as a tape and a stopwatch are read


@pytest.mark.parametrize(
    ("said", "value", "unit"),
    [
        ("thirty five and seven eighths", "35.875", "in"),
        ("four and three sixteenths inches", "4.1875", "in"),
        ("five eighths of an inch", "0.625", "in"),
        ("seven eighths inch", "0.875", "in"),
        ("half an inch", "0.5", "in"),
        ("an inch and a half", "1.5", "in"),
        ("an inch and three eighths", "1.375", "in"),
        ("seven feet", "7", "ft"),
        ("six foot eight", "80", "in"),
        ("six feet eight inches", "80", "in"),
        ("six foot eight and a half", "80.5", "in"),
        ("half a second", "0.5", "s"),
        ("a second and a half", "1.5", "s"),
        ("two seconds and a quarter", "2.25", "s"),
        ("three quarters of a second", "0.75", "s"),
        ("two tenths of a second", "0.2", "s"),
        ("six and two tenths", "6.2", "s"),
        ("six flat", "6.0", "s"),
        ("six seconds flat", "6.0", "s"),
        ("half a pound", "0.5", "lb"),
        ("eleven pounds and a half", "11.5", "lb"),
    ],
)
def test_lengths_and_times_as_people_read_them(language, said: str, value: str, unit: str):
    reading = language.parse(said)
    assert (str(reading.value), reading.unit) == (value, unit)


@pytest.mark.parametrize(
    ("said", "width", "height"),
    [
        ("three oh by seven oh", 36, 84),
        ("left leaf three oh by six eight", 36, 80),
        ("three six by seven oh", 42, 84),
        ("three foot by seven foot", 36, 84),
        ("three foot by six foot eight", 36, 80),
        ("thirty six by eighty four", 36, 84),
        ("right thirty six inches by a hundred and eight inches", 36, 108),
    ],
)
def test_the_size_of_a_door_is_its_width_and_its_height(language, said, width, height):
    wide, high = language.parse(said).readings
    assert (wide.quantity, wide.value) == ("leaf_width", width)
    assert (high.quantity, high.value) == ("leaf_height", height)
    assert wide.subject == high.subject and wide.unit == high.unit


@pytest.mark.parametrize(
    "said",
    [
        # Without a unit 'seven eighths' sounds like 'seven eight'.
        *("seven eighths", "left leaf five eighths"),
        # 'Three six by six eight' may be 36 by 68, or 3 feet 6 by 6 feet 8.
        *("three six by six eight", "two oh", "two oh inches", "leaf width three oh"),
        *("six and two eighths", "six flat inches", "opening force six flat"),
        *("seven foot eleven by", "six foot twelve", "left six point two"),
    ],
)
def test_what_could_be_another_length_or_time_is_refused(language, said: str):
    assert language.parse(said) is None


@given(st.integers(1, 99), st.sampled_from([8, 16]), st.data())
def test_fractions_agree_with_num2words_and_fractions(language, whole: int, parts: int, data):
    """Names of num2words (PyPI), values of the standard library's Fraction."""
    mark = data.draw(st.sampled_from(range(1, parts, 2)))
    name = num2words(parts, to="ordinal") + ("s" if mark > 1 else "")
    said = f"{num2words(whole).replace('-', ' ')} and {num2words(mark)} {name} inches"
    reading = language.parse(
        said.replace("one eighth ", "an eighth ").replace(" one six", " a six")
    )
    assert Fraction(reading.value) == whole + Fraction(mark, parts)


@given(st.integers(1, 10), st.integers(0, 11))
def test_feet_and_inches_agree_with_pint(language: Language, feet: int, inches: int):
    """Converted by pint (PyPI), a library of units that knows nothing of ours."""
    import pint

    said = f"{num2words(feet)} foot {num2words(inches)}"
    units = pint.get_application_registry()
    whole = units.Quantity(feet, "foot") + units.Quantity(inches, "inch")
    assert float(language.parse(said).value) == pytest.approx(whole.to("inch").magnitude)


@given(st.integers(0, 99 * 16))
def test_what_is_read_back_in_inches_can_be_said(language: Language, sixteenths: int):
    value = Decimal(sixteenths) / 16
    said = language.wording.measure(value, "in")
    assert language.parse(said).value == value


@pytest.mark.slow
@given(numbers(), st.sampled_from(["left", "right"]))
def test_the_quantity_says_that_a_side_is_a_leaf(language: Language, number, side: str):
    said, value = number
    reading = language.parse(f"{side} opening time {said}")
    assert (reading.subject, reading.value) == (f"{side} leaf", value)
