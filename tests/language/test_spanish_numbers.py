"""Every Spanish number that can be spoken gives the right Decimal."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st
from num2words import num2words
from text_to_num import alpha2digit

from handsfree.language.interpreter import Language


@pytest.fixture(scope="module")
def spanish() -> Language:
    return Language.load(language="es")


@pytest.mark.parametrize(
    ("said", "value"),
    [
        ("seis coma dos", "6.2"),
        ("seis punto dos", "6.2"),
        ("seis coma dos cero", "6.20"),
        ("uno coma cero cinco", "1.05"),
        ("seis coma veinticinco", "6.25"),
        ("uno coma cero veinticinco", "1.025"),
        ("coma cinco", "0.5"),
        ("cero punto cinco", "0.5"),
        ("dieciséis", "16"),
        ("veintidós", "22"),
        ("treinta y seis", "36"),
        ("tres cinco", "35"),
        ("cien", "100"),
        ("ciento cinco", "105"),
        ("uno cero cinco", "105"),
        ("ciento cincuenta", "150"),
        ("uno dos cinco", "125"),
        ("doscientas veintiuna", "221"),
        ("quinientos", "500"),
        ("medio", "0.5"),
        ("media", "0.5"),
        ("un cuarto", "0.25"),
        ("tres cuartos", "0.75"),
        ("cuatro y medio", "4.5"),
        ("cuatro y media", "4.5"),
        ("tres y cuarto", "3.25"),
        ("treinta y tres cuartos", "30.75"),
        ("treinta y tres y tres cuartos", "33.75"),
        ("mil", "1000"),
        ("mil doscientos", "1200"),
        ("dos mil cien", "2100"),
        ("dos mil cinco", "2005"),
        ("dos uno tres cuatro", "2134"),
    ],
)
def test_the_forms_that_people_use(spanish: Language, said: str, value: str):
    assert str(spanish.number(said)) == value


@pytest.mark.parametrize(
    "said",
    [
        # Said for 1.25 as well as for 125, for 1.70 as well as for 170.
        *("uno veinticinco", "uno setenta", "veintiuno treinta y cuatro"),
        *("", "coma", "seis coma", "coma coma cinco", "seis coma dos coma uno", "cero cinco"),
        *("ciento", "y medio", "cuarto", "seis medio", "seis coma dos y medio", "treinta seis"),
        *("cien cinco", "treinta y diez", "cero mil", "diez mil", "una dos", "menos cinco"),
    ],
)
def test_what_is_no_number_has_no_value(spanish: Language, said: str):
    assert spanish.number(said) is None


def feminine(said: str) -> str:
    """'Doscientos treinta y uno' before 'pulgadas'."""
    said = said.replace("cientos", "cientas").replace("quinientos", "quinientas")
    return said.removesuffix("uno") + "una" if said.endswith("uno") else said


def shortened(said: str) -> str:
    """'Treinta y uno' before 'segundos'."""
    if said.endswith("veintiuno"):
        return said.removesuffix("uno") + "ún"
    return said.removesuffix("uno") + "un" if said.endswith("uno") else said


@pytest.mark.slow
def test_every_whole_number_agrees_with_num2words(spanish: Language):
    """Rendering by num2words (PyPI), an implementation that knows nothing of ours."""
    for number in range(10_000):
        said = num2words(number, lang="es")
        for form in {said, feminine(said), shortened(said)}:
            assert spanish.number(form) == number, form


@given(st.integers(0, 999_999), st.sampled_from(["punto", "coma"]))
def test_decimals_agree_with_num2words(spanish: Language, thousandths: int, point: str):
    value = Decimal(thousandths) / 1000
    assert spanish.number(num2words(value, lang="es").replace("punto", point)) == value


@pytest.mark.slow
def test_our_sentences_agree_with_text2num_where_it_can_read_them(spanish: Language):
    """Reading by text2num (PyPI): what it cannot read it leaves as words or apart.

    It does not read fractions, numbers said digit by digit, a point with nothing before
    it, and small numbers that stand alone.
    """
    rng = Random(11)
    compared = 0
    for _ in range(3000):
        said = spanish.sentence(rng, "number")
        theirs = alpha2digit(said, "es").replace(",", ".")
        if theirs.replace(".", "", 1).isdecimal():
            assert Decimal(theirs) == spanish.number(said), said
            compared += 1
    assert compared > 1000


@pytest.mark.parametrize(
    ("said", "value", "unit"),
    [
        ("treinta y cinco y siete octavos", "35.875", "in"),
        ("treinta y cinco pulgadas y siete octavos", "35.875", "in"),
        ("cinco octavos de pulgada", "0.625", "in"),
        ("tres dieciseisavos de pulgada", "0.1875", "in"),
        ("media pulgada", "0.5", "in"),
        ("siete pies", "7", "ft"),
        ("seis pies ocho", "80", "in"),
        ("seis pies con ocho pulgadas", "80", "in"),
        ("medio segundo", "0.5", "s"),
        ("un segundo y medio", "1.5", "s"),
        ("seis y dos décimas", "6.2", "s"),
        ("dos décimas de segundo", "0.2", "s"),
        ("seis en punto", "6.0", "s"),
        ("seis segundos en punto", "6.0", "s"),
    ],
)
def test_lengths_and_times_as_people_read_them(spanish, said: str, value: str, unit: str):
    reading = spanish.parse(said)
    assert (str(reading.value), reading.unit) == (value, unit)


@pytest.mark.parametrize(
    ("said", "height"),
    [
        ("tres cero por siete cero", 84),
        ("hoja izquierda tres cero por seis ocho", 80),
        ("tres pies por siete pies", 84),
        ("treinta y seis por ochenta y cuatro", 84),
    ],
)
def test_the_size_of_a_door_is_its_width_and_its_height(spanish, said: str, height: int):
    wide, high = spanish.parse(said).readings
    assert (wide.quantity, wide.value) == ("leaf_width", 36)
    assert (high.quantity, high.value) == ("leaf_height", height)


@pytest.mark.parametrize("said", ["siete octavos", "tres seis por seis ocho", "seis y dos octavos"])
def test_what_could_be_another_length_is_refused(spanish: Language, said: str):
    assert spanish.parse(said) is None


@given(st.integers(1, 99), st.sampled_from([1, 3, 5, 7]))
def test_eighths_agree_with_num2words_and_fractions(spanish: Language, whole: int, mark: int):
    """Names of num2words (PyPI), values of the standard library's Fraction."""
    name = num2words(8, lang="es", to="ordinal") + ("s" if mark > 1 else "")
    said = (
        f"{num2words(whole, lang='es')} y {shortened(num2words(mark, lang='es'))} {name} pulgadas"
    )
    assert Fraction(spanish.parse(said).value) == whole + Fraction(mark, 8)


@given(st.integers(0, 99 * 16))
def test_what_is_read_back_in_inches_can_be_said(spanish: Language, sixteenths: int):
    value = Decimal(sixteenths) / 16
    assert spanish.parse(spanish.wording.measure(value, "in")).value == value
