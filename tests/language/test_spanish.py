"""The Spanish vocabulary, and rules for all Spanish sentences."""

from __future__ import annotations

from decimal import Decimal
from random import Random

import pytest

from handsfree.job.quantity import Quantity
from handsfree.job.unit import Unit
from handsfree.language.interpreter import Language
from handsfree.language.meaning import Correction, ReadingSaid
from handsfree.language.typed_text import without_accents
from handsfree.language.word_pair_cover import cover

WORDS = {
    "affirm": ["afirmativo", "afirmo", "sí", "así es"],
    "correct": ["correcto", "es correcto", "eso es correcto"],
    "negative": [
        *("negativo", "no", "mal", "incorrecto", "eso es incorrecto", "no es correcto"),
        *("eso no es correcto", "equivocado", "eso no"),
    ],
    "clear": ["despejado", "libre", "todo despejado"],
    "disregard": ["ignore", "olvídelo", "no importa"],
    "say_again": ["repita", "repita eso", "otra vez"],
    "stand_by": ["espere", "pausa", "un momento"],
    "carry_on": ["continúe", "prosiga", "adelante"],
    "how_do_you_read": ["cómo me recibe", "prueba de sonido", "me escucha"],
    "where_am_i": ["dónde estoy", "en qué paso estamos"],
    "what_is_left": ["qué falta", "qué queda"],
    "what_is_the_limit": ["cuál es el límite"],
    "why": ["por qué"],
    "help": ["ayuda", "qué puedo decir"],
    "done": ["listo", "siguiente", "siguiente paso", "hecho", "terminado"],
    "skip": ["omita este paso", "omita eso", "sáltelo"],
    "go_back": ["atrás", "vuelva atrás", "regrese", "paso anterior"],
    "withdraw": ["retire eso", "retire la última lectura"],
    "note": ["nota"],
    "cancel_clock": ["cancele el cronómetro", "cancele el reloj"],
    "stop": ["alto", "alto alto alto", "pare"],
    "speak_less": ["hable menos"],
    "speak_more": ["hable más"],
    "slower": ["más despacio", "hable más lento"],
    "faster": ["más rápido"],
    "louder": ["más fuerte"],
    "softer": ["más suave", "más bajo"],
    "done_later": ["se hará después", "queda para después"],
    "not_applicable": ["no aplica", "no corresponde"],
    "refused": ["rechazado por el dueño", "rechazado por el propietario"],
    "put_right": ["quedó corregido"],
    "measure_again": ["mida otra vez", "medir otra vez"],
    "tagged_out": ["apagado y con etiqueta"],
    "locked_out": ["bloqueado"],
    "not_locked": ["no está bloqueado", "no bloqueado"],
    "proved_dead": ["energía cero"],
    "still_live": ["todavía hay corriente", "tiene voltaje", "sigue energizado", "no energía cero"],
    "accepted": ["aceptado por el dueño"],
}


@pytest.fixture(scope="module")
def spanish() -> Language:
    return Language.load(language="es")


@pytest.mark.parametrize(("kind", "said"), [(k, s) for k, says in WORDS.items() for s in says])
def test_words_with_a_fixed_meaning(spanish: Language, kind: str, said: str):
    everyday = {"everyday": True} if said in ("sí", "no", "mal") else {}
    assert spanish.parse(said).model_dump() == {"kind": kind, **everyday}


@pytest.mark.parametrize(
    ("said", "subject", "quantity", "value", "unit"),
    [
        ("hoja izquierda apertura seis coma dos", "left leaf", "opening_time", "6.2", "s"),
        ("tiempo de apertura hasta el freno seis", None, "opening_time", "6", "s"),
        ("tiempo de cierre de la hoja derecha es de cinco", "right leaf", "closing_time", "5", "s"),
        ("cierre cinco segundos y medio", None, "closing_time", "5.5", "s"),
        ("golpe final uno coma seis", None, "latching_time", "1.6", "s"),
        ("freno de apertura setenta grados", None, "backcheck_angle", "70", "deg"),
        ("ancho de la puerta treinta y seis pulgadas", None, "leaf_width", "36", "in"),
        ("ancho treinta y cinco pulgadas y tres cuartos", None, "leaf_width", "35.75", "in"),
        ("hoja izquierda altura dos mil cien", "left leaf", "leaf_height", "2100", None),
        ("peso de la hoja izquierda sesenta kilos", "left leaf", "leaf_weight", "60", "kg"),
        ("peso de hoja doscientas una libras", None, "leaf_weight", "201", "lb"),
        ("fuerza de apertura doce libras", None, "opening_force", "12", "lbf"),
        ("fuerza de arranque once y medio", None, "set_in_motion_force", "11.5", None),
        ("pulsador izquierdo altura cuarenta y dos", "left plate", "plate_height", "42", None),
        ("altura de la placa derecha un metro", "right plate", "plate_height", "1", "m"),
        ("altura del letrero del lado cercano cincuenta", "near side", "sign_height", "50", None),
        ("ancho libre de la puerta treinta y cuatro", "opening", "clear_width", "34", None),
        ("próximo servicio en doce meses", None, "next_service", "12", "month"),
        ("diez veces", None, None, "10", "1"),
        ("tres cuartos de pulgada", None, None, "0.75", "in"),
        ("veintiún segundos", None, None, "21", "s"),
        ("doce libras", None, None, "12", "lb"),
        ("doce libras de fuerza", None, None, "12", "lbf"),
    ],
)
def test_readings(spanish: Language, said, subject, quantity, value, unit):
    expected = ReadingSaid(subject=subject, quantity=quantity, value=Decimal(value), unit=unit)
    assert spanish.parse(said) == expected
    assert spanish.parse(f"corrección {said}") == Correction(reading=expected)


def test_the_force_that_begins_the_next_reading_is_no_part_of_the_pounds_before(spanish: Language):
    said = "fuerza de apertura doce libras fuerza de cierre diez libras"
    assert [(r.quantity, r.value, r.unit) for r in spanish.parse(said).readings] == [
        (Quantity.OPENING_FORCE, 12, Unit.POUND_FORCE),
        (Quantity.CLOSING_FORCE, 10, Unit.POUND_FORCE),
    ]


@pytest.mark.parametrize(
    ("said", "subject", "quantity"),
    [
        ("léame todo", None, None),
        ("repita lecturas", None, None),
        ("repita las lecturas de la hoja izquierda", "left leaf", None),
        ("léame el tiempo de cierre de la hoja derecha", "right leaf", "closing_time"),
        ("léame la altura de la placa izquierda", "left plate", "plate_height"),
        ("léame la puerta", "opening", None),
    ],
)
def test_read_back(spanish: Language, said: str, subject: str | None, quantity: str | None):
    expected = {"kind": "read_back", "subject": subject, "quantity": quantity}
    assert spanish.parse(said).model_dump() == expected


@pytest.mark.parametrize(
    "said",
    [
        # Neither a side nor the word for a caution is ever an assent.
        *("eso es derecha", "sí derecha", "derecha derecha", "libre sí", "afirmativo seis"),
        *("corrección", "hoja izquierda tiempo de apertura", "hace buen tiempo", "sí no"),
        *("motor uno seis coma dos", "hoja izquierda altura de placa cuatro", "seis [unk]"),
        *("doble", "par", "dos hojas", "alto seis", "ancho libre", "cierre final seis"),
    ],
)
def test_what_is_no_sentence_means_nothing(spanish: Language, said: str):
    assert spanish.parse(said) is None


@pytest.mark.slow
def test_no_sentence_has_two_meanings(spanish: Language):
    rng = Random(2)
    sampled = {spanish.sentence(rng) for _ in range(8000)}
    for said in sampled | set(cover(spanish.automaton())):
        assert len(spanish.meanings(tuple(said.split()))) == 1, said


@pytest.mark.slow
def test_accents_need_not_be_typed(spanish: Language):
    """Where two words differ in accents alone, the sentence tells which of them is meant."""
    rng = Random(4)
    for _ in range(1000):
        said = spanish.sentence(rng)
        assert spanish.parse(without_accents(said)) == spanish.parse(said) is not None, said


@pytest.mark.slow
def test_every_word_is_said_sooner_or_later(spanish: Language):
    rng = Random(1)
    said = {word for _ in range(60_000) for word in spanish.sentence(rng).split()}
    marks = {word for _, word, _ in spanish.automaton("mark").arcs}
    assert said | marks == spanish.words()


@pytest.mark.slow
def test_the_automaton_is_small_enough_for_a_recognizer(spanish: Language):
    assert len(spanish.automaton().arcs) < 23_000


@pytest.mark.parametrize("name", ["peso", "ancho", "altura"])
def test_a_name_as_short_as_coma_or_punto_wants_its_leaf_or_y_after_a_number(spanish, name):
    first = "hoja izquierda tiempo de cierre cinco"
    assert spanish.parse(f"{first} {name} seis") is None
    for between in ("y", "hoja izquierda", "y hoja izquierda"):
        assert len(spanish.parse(f"{first} {between} {name} seis").readings) == 2
    assert len(spanish.parse(f"{first} {name} de hoja seis").readings) == 2
