"""A typed visit in Spanish follows the rules of the conversation without any English word."""

from __future__ import annotations

import re
from decimal import Decimal

import pytest

from handsfree.checks.limits import load_limits
from handsfree.dialogue.state import Say, State
from handsfree.job.job import Job, LastVisit
from handsfree.job.opening import Side
from handsfree.job.quantity import Quantity
from handsfree.job.reading import Reading, Subject
from handsfree.journal import events as ev
from handsfree.journal.paper_events import VisitFactKept
from handsfree.language.interpreter import Language
from handsfree.procedure.loader import parse_procedure
from handsfree.visit_record.progress import Progress

from ..talk import SHEET, Talk

PROCEDURE = """
name = "small"
title = "Una visita corta"

[[stage]]
id = "safe"
title = "seguridad"

[[stage]]
id = "motors"
title = "motores"

[[stage]]
id = "times"
title = "tiempos"

[[step]]
id = "power-off"
stage = "safe"
prompt = "Corte la energía y compruebe que no hay tensión."
brief = "Energía cortada."
waits = "done"
may_skip = false
why = "Nadie trabaja en un operador con tensión."

[[step]]
id = "learn"
stage = "safe"
prompt = "Inicie el ciclo de aprendizaje y obsérvelo."
brief = "Ciclo de aprendizaje."
caution = "Los sensores no actúan en el ciclo de aprendizaje, mantenga libre el paso."
word = "clear"
waits = "done"
why = "El controlador aprende la puerta."

[[step]]
id = "swings-free"
stage = "safe"
for_each = "leaf"
prompt = "Mueva a mano la {subject}. ¿Se mueve libre?"
brief = "Mueva la {subject}."
waits = "observation"
fact = "swings_freely"
called = "se mueve libre"
why = "Una hoja que roza falsea todos los tiempos."

[[step]]
id = "motor-hand"
stage = "motors"
for_each = "motor"
prompt = "¿De qué mano es el {subject}, izquierda o derecha?"
brief = "Mano del {subject}."
waits = "choice"
fact = "hand"
called = "mano"
options = [{ value = "left", say = "mano izquierda" }, { value = "right", say = "mano derecha" }]
why = "El controlador debe conocer la mano."

[[step]]
id = "opening-time"
stage = "times"
for_each = "leaf"
prompt = "Mida la {subject} hasta el freno y diga el tiempo de apertura."
brief = "Tiempo de apertura de la {subject}."
waits = "reading"
quantity = "opening_time"
attempts = 3
adjust = "baje la velocidad de apertura de la {subject}"
why = "Limita la energía de la hoja."

[[step]]
id = "hold-open"
stage = "times"
for_each = "leaf"
prompt = "Mida cuánto tiempo se queda abierta la {subject}."
brief = "Tiempo de retención de la {subject}."
waits = "reading"
quantity = "hold_open_time"
attempts = 2
adjust = "suba el tiempo de retención de la {subject}"
why = "La gente necesita tiempo para pasar."
"""

SIX_TWO = "Hoja izquierda, tiempo de apertura, seis coma dos segundos."


@pytest.fixture
def talk() -> Talk:
    """A conversation in Spanish that has begun, at the first step."""
    sheet = SHEET.model_copy(update={"language": "es"})
    state = State(
        procedure=parse_procedure(PROCEDURE, "small.toml", "0" * 64),
        limits=load_limits("a156.19"),
        progress=Progress(job=Job.open(sheet)),
    )
    talk = Talk(state=state, language=Language.load(language="es"))
    talk.begins()
    return talk


def at_the_times(talk: Talk) -> Talk:
    talk.says("listo", "despejado", "listo", "ambas en orden", "afirmativo")
    talk.says("mano izquierda", "afirmativo", "mano derecha", "afirmativo")
    assert talk.state.progress.at == "opening-time:left leaf"
    return talk


def values(talk: Talk) -> list[Decimal]:
    return [reading.value for reading in talk.state.progress.job.readings]


def test_a_reading_is_read_back_and_filed_when_affirmed(talk):
    at_the_times(talk)
    said = "hoja izquierda tiempo de apertura seis coma dos"
    assert talk.says(said) == [SIX_TWO]
    assert values(talk) == []
    spoken = talk.says("afirmativo")
    assert spoken == ["Cumple.", "Mida cuánto tiempo se queda abierta la hoja izquierda."]
    assert values(talk) == [Decimal("6.2")]


@pytest.mark.parametrize("typed", ["6,2", "6.2 s", "seis punto dos segundos"])
def test_however_it_is_typed_it_is_read_back_with_a_comma(talk, typed):
    assert at_the_times(talk).says(typed) == [SIX_TWO]


@pytest.mark.parametrize("word", ["negativo", "no", "ignore"])
def test_refusal_files_nothing(talk, word):
    (spoken, *_) = at_the_times(talk).says("seis coma dos", word)
    assert spoken.startswith("Descartado.")
    assert values(talk) == []


def test_a_correction_keeps_what_it_leaves_out(talk):
    at_the_times(talk).says("hoja derecha tiempo de apertura seis coma dos")
    assert talk.says("corrección seis coma tres") == [
        "Hoja derecha, tiempo de apertura, seis coma tres segundos."
    ]


def test_several_in_one_breath_and_both_leaves(talk):
    at_the_times(talk)
    assert talk.says(
        "hoja izquierda tiempo de apertura seis coma dos, tiempo de retención cinco"
    ) == [f"{SIX_TWO} Hoja izquierda, tiempo de retención, cinco segundos."]
    talk.says("afirmativo")
    assert talk.says("ambas hojas tiempo de retención cinco coma uno") == [
        "Ambas hojas, tiempo de retención, cinco coma uno segundos."
    ]
    talk.says("afirmativo")
    assert values(talk) == [Decimal("6.2"), Decimal(5), Decimal("5.1"), Decimal("5.1")]


def test_the_leaf_is_asked_for_where_it_cannot_be_told(talk):
    assert talk.says("tiempo de apertura seis") == ["¿Qué hoja, izquierda o derecha?"]
    assert talk.says("derecha") == ["Hoja derecha, tiempo de apertura, seis segundos."]


def test_a_failing_reading_is_told_with_its_limit_and_what_to_change(talk):
    at_the_times(talk).says("dos coma cinco")
    spoken = talk.says("afirmativo")
    assert spoken[0] == (
        "Falla. Tiempo de apertura de la hoja izquierda: 2.5 segundos, debe ser de al menos "
        "3.5 segundos con 36 pulgadas y 150 libras, sin origen."
    )
    assert spoken[-2] == (
        "Haga más lenta la apertura de la hoja izquierda, a cerca de 4.5 segundos."
    )
    assert spoken[-1] == (
        "Baje la velocidad de apertura de la hoja izquierda. "
        "Luego mida de nuevo y diga la nueva lectura."
    )


def test_too_close_to_call_asks_for_another_run(talk):
    at_the_times(talk).says("tres coma siete")
    spoken = talk.says("afirmativo")
    assert spoken[0].startswith("Demasiado justo para decidir.")
    assert spoken[-1] == "Mida una vez más, o diga siguiente para dejarlo así."


def test_an_implausible_value_is_asked_for_again(talk):
    assert at_the_times(talk).says("sesenta y dos") == [
        "Seis dos segundos. Lo usual para tiempo de apertura es de cero coma cinco segundos a "
        "veinte segundos. Diga el valor otra vez."
    ]


def test_a_value_that_fits_another_unit_is_asked_for_with_its_unit(talk):
    (spoken,) = at_the_times(talk).says("hoja izquierda ancho nueve uno cuatro")
    assert spoken.endswith("así que puede ser la unidad. Diga el valor otra vez, con su unidad.")


def test_a_caution_takes_its_own_word(talk):
    assert talk.says("listo") == [
        "Precaución. Los sensores no actúan en el ciclo de aprendizaje, mantenga libre el paso. "
        "Diga despejado cuando lo esté."
    ]
    assert talk.says("listo") == ["Tengo que oír: despejado."]
    assert talk.state.progress.cautioned == frozenset()
    assert talk.says("despejado") == ["Inicie el ciclo de aprendizaje y obsérvelo."]


def test_facts_are_read_back_and_hands_that_cannot_be_are_challenged(talk):
    talk.says("listo", "despejado", "listo", "ambas en orden")
    assert talk.replies[-1].text == "Hoja izquierda y hoja derecha, se mueve libre, bien."
    talk.says("afirmativo")
    assert talk.says("mano izquierda") == ["Motor uno, mano, mano izquierda."]
    talk.says("afirmativo")
    assert talk.says("mano izquierda") == [
        "Motor dos, mano, mano izquierda. No puede ser: los dos motores tienen la misma mano, y un "
        "par que abre en el mismo sentido necesita manos opuestas. Revise otra vez y "
        "corríjalo. O diga pulso corto."
    ]
    talk.says("no", "mano derecha", "así es")
    assert talk.state.progress.job.opening.motors[1].hand is Side.RIGHT


def test_help_grows_from_the_words_of_the_grammar_to_the_keyboard(talk):
    at_the_times(talk)
    assert [talk.says("qué bonito día")[0] for _ in range(4)] == [
        "Repita.",
        "Para tiempo de apertura, diga un número, o diga omita.",
        "Diga el número dígito por dígito, o escríbalo en el teclado.",
        "No le escucho bien. Escríbalo en el teclado, o diga espere y acérquese.",
    ]


def test_a_value_with_a_rival_in_sound_becomes_a_choice_of_two(talk):
    at_the_times(talk)
    assert talk.says("hoja derecha peso setenta libras") == [
        "Hoja derecha, peso de hoja, siete cero libras."
    ]
    assert talk.says("negativo") == ["Setenta o sesenta: ¿siete cero, o seis cero?"]
    assert talk.says("seis cero") == ["Hoja derecha, peso de hoja, seis cero libras."]


def test_orientation(talk):
    assert talk.says("por qué") == ["Nadie trabaja en un operador con tensión."]
    assert talk.says("dónde estoy") == [
        "Paso 1 de 10, seguridad. Corte la energía y compruebe que no hay tensión."
    ]
    assert talk.says("qué falta") == ["Faltan 10 pasos: seguridad 4, motores 2, tiempos 4."]
    assert talk.says("cuál es el límite") == ["Este paso no tiene límite."]
    assert at_the_times(talk).says("cuál es el límite") == [
        "Para tiempo de apertura de la hoja izquierda, el límite es de al menos 3.5 segundos "
        "con 36 pulgadas y 150 libras, sin origen."
    ]
    talk.says("seis coma dos", "afirmativo")
    assert talk.says("léame la hoja izquierda") == [SIX_TWO]


def test_stop_waits_for_carry_on(talk):
    assert talk.says("alto") == [
        "Alto. Yo no puedo parar la puerta. Si se mueve, apague el operador. "
        "Cuando sea seguro, diga continúe."
    ]
    assert talk.says("listo") == []
    assert talk.says("continúe") == ["Corte la energía y compruebe que no hay tensión."]


def test_a_reading_is_withdrawn(talk):
    at_the_times(talk).says("seis coma dos", "afirmativo")
    assert talk.says("retire eso") == [f"Retirar: {SIX_TWO} ¿Sí o no?"]
    assert talk.says("así es")[0] == "Retirado."
    assert values(talk) == []


def test_a_step_is_skipped_with_a_reason_and_settled_at_the_close_out(talk):
    assert talk.says("omita") == ["Este paso no se puede omitir."]
    at_the_times(talk)
    for _ in range(3):
        talk.says("dos coma cinco", "afirmativo")
    talk.says("siguiente")
    assert talk.says("omita") == ["Omitir este paso. Diga el motivo, o diga ignore."]
    talk.says("el dueño tiene la llave")
    assert talk.of(ev.StepEnded)[-1].reason == "el dueño tiene la llave"
    talk.says("seis", "afirmativo")
    talk.says("seis")
    assert talk.says("afirmativo")[-2:] == [
        "Quedan 3 puntos abiertos: hoja izquierda, tiempo de apertura, no está bien; "
        "hoja izquierda, energía de apertura, no está bien; "
        "hoja izquierda, tiempo de retención, paso omitido.",
        "Hoja izquierda, tiempo de apertura, no está bien: "
        "¿quedó corregido, apagado y con etiqueta, se hará después, o rechazado por el dueño?",
    ]
    talk.says("se hará después", "rechazado por el dueño")
    assert talk.says("no aplica") == [
        "Hoja izquierda, tiempo de retención: no aplica.",
        "La visita está completa. No está bien: hoja izquierda, tiempo de apertura; "
        "hoja izquierda, energía de apertura. 5 de 7 comprobaciones pasan.",
    ]
    assert talk.state.progress.closed


# No word that Spanish has as well, such as 'motor' or 'no'.
ENGLISH = """
the leaf leaves left right say not and or must should is are of at to for with your you step
steps open opening closing close time times reading measure limit seconds pounds point affirm
negative done skip clear fail pass order it this that visit swings freely hand one two take
again what which
"""


def test_a_whole_visit_speaks_no_english(talk):
    talk.says("ayuda", "cómo me recibe", "dónde estoy", "qué falta", "vaya a los letreros")
    talk.says(
        "vaya a los tiempos", "vuelva atrás", "vaya a la seguridad", "bla", "bla", "bla", "bla"
    )
    talk.says("inicie el cronómetro hoja izquierda", "hable menos", "hable menos", "hable más")
    talk.says("hable más", "más despacio", "espere", "continúe", "alto", "alto", "continúe")
    talk.says(
        "listo", "listo", "despejado", "listo", "nota", "la placa está floja", "no está en orden"
    )
    talk.says("afirmativo", "roza abajo", "en orden", "afirmativo", "mano izquierda", "afirmativo")
    talk.says("mano izquierda", "negativo", "motor dos mano derecha", "afirmativo")
    talk.says("hoja derecha tiempo de apertura dos coma cinco", "afirmativo")
    talk.is_silent(3)
    talk.is_silent(30)
    talk.says("hoja izquierda peso seis newtons", "tiempo de apertura seis grados", "veinte kilos")
    talk.says("hoja derecha peso de hoja sesenta libras", "qué puedo decir", "afirmativo")
    for said in ("dos coma cinco", "tres coma siete", "ocho"):
        talk.says(said, "cuál es el límite", "afirmativo", "léame")
    talk.says("retire eso", "no", "omita", "ignore")
    talk.resumes()
    while not talk.state.progress.closed:
        before = len(talk.kept)
        talk.says("omita", "no hay tiempo", "no aplica", "se hará después")
        assert len(talk.kept) > before, talk.state.pending
    spoken = [reply.text for reply in talk.replies if isinstance(reply, Say)]
    assert len(spoken) > 80
    for text in spoken:
        words = set(re.findall(r"[^\W\d_]+", text.lower()))
        assert not words & set(ENGLISH.split()), text


def test_the_job_keeps_what_every_language_keeps(talk):
    """The journal knows no Spanish: ids, subjects and quantities are those of the records."""
    at_the_times(talk).says("seis coma dos", "afirmativo")
    (reading,) = talk.state.progress.job.readings
    assert (reading.subject, reading.quantity) == (Subject.LEFT_LEAF, Quantity.OPENING_TIME)


def test_what_is_filled_in_on_paper_is_said_in_spanish(talk):
    assert talk.says("llegada")[0] == "Anotado: llegada."
    (readback,) = talk.says("serie del operador alfa siete cuatro dos")
    assert readback == "Número de serie del operador: alfa siete cuatro dos. ¿Sí o no?"
    assert talk.says("afirmativo")[0].startswith("Anotado: número de serie del operador, alfa")
    assert talk.says("partes usadas") == ["Adelante: partes usadas."]
    assert talk.says("dos tornillos")[0] == "Anotado: partes usadas, dos tornillos."
    assert talk.says("retire las partes usadas")[0] == "Retirado: partes usadas."
    assert talk.says("medidor calibrado")[0].startswith("Dígalo de corrido: medidor de fuerza")
    kept = [(body.name, body.value) for body in talk.of(VisitFactKept)]
    assert kept == [("arrival", ""), ("operator_serial", "A742"), ("parts_used", "dos tornillos")]


def test_the_last_visit_is_said_beside_a_reading(talk):
    before = Reading(
        id="r1",
        quantity=Quantity.OPENING_TIME,
        subject=Subject.LEFT_LEAF,
        value="5.1",
        unit="s",
        taken="said",
    )
    job = talk.state.progress.job
    last = LastVisit(reference="T-0", on="2099-03-04", readings=(before,), last_year=True)
    job = job.model_copy(update={"sheet": job.sheet.model_copy(update={"last_visit": last})})
    progress = talk.state.progress.model_copy(update={"job": job})
    talk.state = talk.state.model_copy(update={"progress": progress})
    at_the_times(talk)
    talk.says("seis coma dos")
    assert "El año pasado, cinco coma uno." in talk.says("afirmativo")
