"""Lengths and angles as read from a tape."""

from __future__ import annotations

from decimal import Decimal

import pytest

from handsfree.job.unit import Measure, Unit
from handsfree.language.tape_words import angle, angle_out, tape, whole_weight
from handsfree.language.wording import wording

EN, ES = wording("en"), wording("es")


@pytest.mark.parametrize(
    ("inches", "english", "spanish"),
    [
        (6.251, "six and a quarter inches", "seis pulgadas y un cuarto"),
        (35.453, "thirty five and a half inches", "treinta y cinco pulgadas y media"),
        (1.0, "one inch", "una pulgada"),
        (0.5, "half an inch", "media pulgada"),
        (0.13, "an eighth of an inch", "un octavo de pulgada"),
        (41.99, "forty two inches", "cuarenta y dos pulgadas"),
        (21.375, "twenty one and three eighths inches", "veintiuna pulgadas y tres octavos"),
    ],
)
def test_inches_are_read_to_the_eighth(inches, english, spanish):
    assert tape(EN, inches * 0.0254, Unit.INCH) == english
    assert tape(ES, inches * 0.0254, Unit.FOOT) == spanish


def test_a_metric_leaf_is_read_in_millimetres():
    assert tape(EN, 0.1588, Unit.MILLIMETRE) == "159 millimetres"


@pytest.mark.parametrize(
    ("number", "english", "spanish"),
    [(0, "zero", "cero"), (35, "thirty five", "treinta y cinco"), (90, "ninety", "noventa")],
)
def test_whole_numbers(number, english, spanish):
    assert (EN.cardinal(number), ES.cardinal(number)) == (english, spanish)


def test_every_number_to_ninety_nine_has_its_own_words():
    for w in (EN, ES):
        assert len({w.cardinal(number) for number in range(100)}) == 100
    assert EN.cardinal(120) == "one hundred twenty"
    assert EN.cardinal(12345) == "one two three four five"


@pytest.mark.parametrize(
    ("angle_deg", "english", "spanish"),
    [
        ("10", "ten degrees", "diez grados"),
        ("1", "one degree", "un grado"),
        ("12.5", "one two point five degrees", "uno dos coma cinco grados"),
    ],
)
def test_angles(angle_deg, english, spanish):
    assert angle(EN, Decimal(angle_deg)) == english
    assert angle(ES, Decimal(angle_deg)) == spanish


def test_an_angle_as_a_distance():
    width = Measure(value=Decimal(36), unit=Unit.INCH)
    assert angle_out(EN, width, "the left leaf", Decimal(80)) == (
        "Eighty degrees is thirty five and a half inches at the latch edge of the left leaf, "
        "straight out from the frame."
    )
    assert angle_out(ES, width, "la hoja izquierda", Decimal(10)) == (
        "Diez grados son seis pulgadas y un cuarto en el canto de cierre de la hoja izquierda, en "
        "línea recta desde el marco."
    )


@pytest.mark.parametrize(
    ("value", "unit", "words"),
    [("95.4", Unit.POUND, "95 pounds"), ("43.27", Unit.KILOGRAM, "43 kilograms")],
)
def test_an_estimated_weight_is_said_to_the_pound(value, unit, words):
    assert whole_weight(EN, Measure(value=Decimal(value), unit=unit)) == words
