"""Everything that can be said in English can be said in Spanish, with exactly that meaning."""

from __future__ import annotations

import re
from decimal import Decimal
from random import Random

import pytest

from handsfree.job.door_feature import FEATURES
from handsfree.job.quantity import QUANTITIES, Quantity
from handsfree.job.reading import Subject
from handsfree.job.unit import Family, Unit, family_of
from handsfree.job.visit_fact import visit_fact_words
from handsfree.language.interpreter import Language
from handsfree.language.meaning import (
    Choice,
    CodeSaid,
    Correction,
    EntrySaid,
    FactSaid,
    Found,
    GoTo,
    GoToEntry,
    HowFar,
    ItemsSaid,
    Meaning,
    MeansAsked,
    MeasureLeafSaid,
    ReadBack,
    ReadingSaid,
    ReadingsSaid,
    SkipStage,
    StartClock,
    VisitFactSaid,
    WithdrawRun,
    Word,
    Worked,
)
from handsfree.language.syntax_tree import Tagged, walk


@pytest.fixture(scope="module")
def spanish() -> Language:
    return Language.load(language="es")


# One way to say each thing: the plainest, which the tool itself may use.

DIGITS = {
    "0": "cero",
    "1": "uno",
    "2": "dos",
    "3": "tres",
    "4": "cuatro",
    "5": "cinco",
    "6": "seis",
    "7": "siete",
    "8": "ocho",
    "9": "nueve",
    ".": "coma",
}
UNITS = {
    Unit.SECOND: "segundos",
    Unit.INCH: "pulgadas",
    Unit.FOOT: "pies",
    Unit.MILLIMETRE: "milímetros",
    Unit.CENTIMETRE: "centímetros",
    Unit.METRE: "metros",
    Unit.POUND: "libras",
    Unit.KILOGRAM: "kilogramos",
    Unit.POUND_FORCE: "libras fuerza",
    Unit.NEWTON: "newtons",
    Unit.DEGREE: "grados",
    Unit.ONE: "ciclos",
    Unit.MONTH: "meses",
    Unit.STEP: "",
}
SUBJECTS = {
    Subject.LEFT_LEAF: "hoja izquierda",
    Subject.RIGHT_LEAF: "hoja derecha",
    Subject.BOTH_LEAVES: "ambas hojas",
    Subject.MOTOR_ONE: "motor uno",
    Subject.MOTOR_TWO: "motor dos",
    Subject.LEFT_PLATE: "placa izquierda",
    Subject.RIGHT_PLATE: "placa derecha",
    Subject.NEAR_SIDE: "lado cercano",
    Subject.FAR_SIDE: "lado lejano",
    Subject.OPENING: "la puerta",
}
NAMES = {quantity: facts.words["es"].name for quantity, facts in QUANTITIES.items()}
# After a plate or a side the full name need not be said, and is not.
SHORT = {
    Quantity.PLATE_HEIGHT: "altura",
    Quantity.PLATE_DISTANCE: "distancia",
    Quantity.SIGN_HEIGHT: "altura",
}
ANSWERS = {
    ("left", None): "izquierda",
    ("left", "leaf"): "hoja izquierda",
    ("left", "hand"): "mano izquierda",
    ("left", "side"): "lado izquierdo",
    ("right", None): "derecha",
    ("right", "leaf"): "hoja derecha",
    ("right", "hand"): "mano derecha",
    ("right", "side"): "lado derecho",
    ("both", None): "ambas",
    ("both", "leaf"): "ambas hojas",
    ("both", "side"): "ambos lados",
    ("push", None): "empujar",
    ("pull", None): "jalar",
    ("single", None): "sencilla",
    ("pair", None): "un par",
    ("same_way", None): "en el mismo sentido",
    ("double_egress", None): "doble egreso",
    ("label", None): "etiqueta",
    ("scale", None): "báscula",
    ("estimate", None): "estimado",
    ("in_order", None): "en orden",
    ("not_in_order", None): "no está en orden",
    ("none", None): "ninguno",
    ("latch", None): "pestillo",
    ("strike", None): "contrachapa eléctrica",
    ("slams", None): "azota",
    ("stays_open", None): "se queda abierta",
    ("does_not_open", None): "no abre",
    ("hits_people", None): "golpea a la gente",
    ("will_not_latch", None): "no engancha",
    ("opens_by_itself", None): "abre sola",
    ("opens_too_fast", None): "abre demasiado rápido",
    ("opens_too_slow", None): "demasiado lenta",
    ("reverses", None): "se regresa",
    ("strike_hangs", None): "se atora la contrachapa",
    ("leaf_does_not_follow", None): "una hoja no acompaña",
    ("wrong_order", None): "orden equivocado",
    ("noise", None): "hace ruido",
    ("one_plate_only", None): "solo una placa",
    ("stops_after_power_cut", None): "dejó de funcionar tras un corte",
    ("learn_does_not_start", None): "no empieza a aprender",
    ("learn_stops_early", None): "se detiene al aprender",
    ("learn_wrong_way", None): "va al revés",
    ("learn_ends_in_error", None): "falló el aprendizaje",
    ("opens", None): "al abrir",
    ("closes", None): "al cerrar",
    ("all_way", None): "todo el cierre",
    ("end", None): "el final",
}
WORDS = {
    "affirm": "afirmativo",
    "negative": "negativo",
    "correct": "correcto",
    "clear": "despejado",
    "not_clear": "no está despejado",
    "disregard": "ignore",
    "say_again": "repita",
    "stand_by": "espere",
    "carry_on": "continúe",
    "how_do_you_read": "cómo me recibe",
    "where_am_i": "dónde estoy",
    "what_is_left": "qué falta",
    "what_is_the_limit": "cuál es el límite",
    "why": "por qué",
    "help": "ayuda",
    "done": "listo",
    "skip": "omita este paso",
    "go_back": "atrás",
    "withdraw": "retire eso",
    "note": "nota",
    "cancel_clock": "cancele el cronómetro",
    "stop": "alto",
    "speak_less": "hable menos",
    "speak_more": "hable más",
    "slower": "más despacio",
    "faster": "más rápido",
    "louder": "más fuerte",
    "softer": "más suave",
    "done_later": "se hará después",
    "not_applicable": "no aplica",
    "refused": "rechazado por el dueño",
    "put_right": "quedó corregido",
    "measure_again": "mida otra vez",
    "tagged_out": "apagado y con etiqueta",
    "locked_out": "bloqueado",
    "not_locked": "no está bloqueado",
    "proved_dead": "energía cero",
    "still_live": "hay corriente",
    "accepted": "aceptado por el dueño",
}
STAGES = {
    "safe": "a la seguridad",
    "power-off": "al corte de energía",
    "survey": "al levantamiento",
    "by-hand": "a las pruebas a mano",
    "motors": "a los motores",
    "power-on": "al encendido",
    "settings": "a los ajustes",
    "learn": "al ciclo de aprendizaje",
    "times": "a los tiempos",
    "forces": "a las pruebas de fuerza",
    "activation": "a la activación",
    "sensors": "a los sensores",
    "signs": "a los letreros",
    "latch": "al pestillo",
    "fire": "a la liberación por incendio",
    "whole-door": "a la puerta completa",
    "hand-over": "a la entrega",
    "complaint": "a la queja",
    "search": "a la búsqueda",
    "daily": "a la revisión diaria",
}


def number(value: Decimal) -> str:
    if "." in f"{value:f}" and len(f"{value % 1:f}") > 5:  # sixteenths have four decimals
        sixteenths = int(value % 1 * 16)
        name = "dieciseisavo" if sixteenths == 1 else "dieciseisavos"
        return f"{number(value // 1)} y {SIXTEENTHS[sixteenths]} {name}"
    return " ".join(DIGITS[character] for character in f"{value:f}")


def topic(subject: Subject | None, quantity: Quantity | None) -> str:
    name = NAMES[quantity] if quantity else ""
    return f"{SUBJECTS[subject]} {SHORT.get(quantity, name)}" if subject else name


SIXTEENTHS = {
    **{1: "un", 3: "tres", 5: "cinco", 7: "siete", 9: "nueve"},
    **{11: "once", 13: "trece", 15: "quince"},
}
RUNS = {1: "uno", 2: "dos", 3: "tres", 4: "cuatro", 5: "cinco"}


THE_SAME_TAGS = (CodeSaid, EntrySaid, Found, GoToEntry, HowFar, ItemsSaid, MeansAsked, Worked)
"""Meanings that the test of the tags compares, and the tests of their questions use."""
SAID_ALONE = {"what_did_we_set", "dont_know", "jog"}
"""Words without a value; the test of the tags compares them."""


def of_the_survey(meaning: FactSaid | Choice) -> bool:
    """True for what a door is: the table of its features says it in both languages."""
    if isinstance(meaning, FactSaid):
        return meaning.name in FEATURES
    return (meaning.value, meaning.noun) not in ANSWERS


def of_letters_or_a_date(meaning: Meaning) -> bool:
    """True for a fact on paper that is spelled or dated, as a code is: the tags are compared."""
    return isinstance(meaning, VisitFactSaid) and bool(meaning.code or meaning.month)


def shortest(forms: tuple[str, ...]) -> str:
    """The first form without what may be left out, and with the first of what may be chosen."""
    said = re.sub(r"\[[^]]*\]", "", forms[0])
    said = re.sub(r"\(([^|)]*)[^)]*\)", r"\1", said)
    return " ".join(said.split())


def fact_in_spanish(fact: VisitFactSaid) -> str:
    words = visit_fact_words(fact.fact, "es")
    said = [shortest(words.say)]
    if fact.subject is not None:
        said.insert(0, SUBJECTS[fact.subject].removeprefix("hoja "))
    if fact.answer is not None:
        said.append(shortest(words.values[fact.answer].say))
    return " ".join(["retire", *said] if fact.withdrawn else said)


def in_spanish(meaning: Meaning) -> str:
    """A sentence that should have that meaning."""
    match meaning:
        case ReadingSaid(subject=subject, quantity=quantity, value=value, unit=unit):
            about = topic(subject, quantity)
            if meaning.open_time:
                about = about.replace(NAMES[Quantity.OPENING_TIME], "tiempo abierto")
            return f"{about} {number(value)} {UNITS[unit] if unit else ''}"
        case ReadingsSaid(readings=readings):
            return " y ".join(in_spanish(reading) for reading in readings)
        case Correction(reading=reading):
            return f"corrección {in_spanish(reading)}"
        case Choice(both=True, everyday=True, value=value):
            return "ambas bien" if value == "in_order" else "ambas mal"
        case Choice(both=True):
            return "ambas en orden"
        case Choice(value=value, everyday=True):
            return "bien" if value == "in_order" else "está mal"
        case Choice(value=value, noun=noun):
            return ANSWERS[value, noun]
        case FactSaid(subject=subject, name="hinge_side", value=value):
            return f"{SUBJECTS[subject]} bisagras a la {ANSWERS[value, None]}"
        case FactSaid(subject=subject, name="weight_source", value=value):
            return f"{SUBJECTS[subject]} peso {ANSWERS[value, None]}"
        case FactSaid(subject=subject, name="action", value=value):
            return f"{SUBJECTS[subject]} {ANSWERS[value, None]}"
        case FactSaid(subject=subject, name=name, value=value):
            return f"{SUBJECTS[subject]} {ANSWERS[value, name]}"
        case ReadBack(subject=subject, quantity=quantity):
            return f"léame {topic(subject, quantity)}"
        case StartClock(together=True):
            return "inicie el cronómetro ambas hojas juntas"
        case StartClock(subject=subject):
            return f"inicie el cronómetro {topic(subject, None)}"
        case MeasureLeafSaid(subject=subject, value=value):
            leaf = "la hoja" if subject is None else topic(subject, None)
            opened = "" if value is None else f" ángulo de apertura {number(value)} grados"
            return f"mida {leaf}{opened}"
        case WithdrawRun(value=value):
            return f"retire la pasada {RUNS[int(value)]}"
        case GoTo(stage=stage):
            return f"vaya {STAGES[stage]}"
        case SkipStage(stage=stage):
            return f"omita {STAGES[stage].removeprefix('al ').removeprefix('a ')}"
        case VisitFactSaid():
            return fact_in_spanish(meaning)
        case Word(kind=kind, everyday=True):
            return {"affirm": "sí", "negative": "no", "done": "recibido"}[kind]
        case Word(kind=kind):
            return WORDS[kind]


@pytest.mark.slow
def test_whatever_is_said_in_english_can_be_said_in_spanish(language: Language, spanish: Language):
    """Exactly the same meaning, from the subject to the zeros of a value."""
    rng = Random(21)
    for _ in range(6000):
        english = language.sentence(rng)
        (meaning,) = language.meanings(tuple(english.split()))
        if isinstance(meaning, THE_SAME_TAGS) or getattr(meaning, "kind", "") in SAID_ALONE:
            continue
        if isinstance(meaning, FactSaid | Choice) and of_the_survey(meaning):
            continue
        if of_letters_or_a_date(meaning):
            continue
        said = in_spanish(meaning)
        assert spanish.meanings(tuple(said.split())) == (meaning,), (english, said)


def test_both_grammars_can_give_the_same_tags(language: Language, spanish: Language):
    def tags(of: Language) -> set[str]:
        nodes = (node for rule in of.grammar.rules.values() for node in walk(rule.expansion))
        return {node.tag for node in nodes if isinstance(node, Tagged) and "=" in node.tag}

    assert tags(spanish) == tags(language)


@pytest.mark.parametrize("quantity", Quantity)
def test_a_unit_of_another_family_is_no_sentence(spanish: Language, quantity: Quantity):
    family = QUANTITIES[quantity].family
    for unit, word in UNITS.items():
        said = spanish.parse(f"{NAMES[quantity]} seis {word}")
        if family is Family.FORCE and unit is Unit.POUND:
            assert said.unit is Unit.POUND_FORCE
        elif word and family is family_of(unit):
            assert (said.quantity, said.unit) == (quantity, unit)
        elif word:
            assert said is None, unit
