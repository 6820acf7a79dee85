"""The list of faults: names in each language, and proofs that procedures ask for."""

from __future__ import annotations

import pytest

from handsfree.job.fault_kinds import FAULT_KINDS, MISTAKEN, PARTS, WORKS, places
from handsfree.job.opening import Leaf, Opening, Side, Swing
from handsfree.job.reading import Subject
from handsfree.journal.canonical_json import parse_line
from handsfree.language.interpreter import Language
from handsfree.language.wording import languages, wording
from handsfree.procedure.loader import load_procedure, shipped_procedures


@pytest.mark.parametrize("language", languages())
def test_every_name_is_in_every_language(language):
    w = wording(language)
    assert set(w.names["fault"]) == set(FAULT_KINDS)
    assert set(w.names["work"]) == {*WORKS, MISTAKEN} - {"nothing"}
    assert set(w.names["part"]) == set(PARTS)


@pytest.mark.parametrize(("language", "begins"), [("en", "i found"), ("es", "encontré")])
def test_every_fault_can_be_said_by_its_name(language, begins):
    spoken = Language.load(language=language)
    for fault in FAULT_KINDS:
        name = wording(language).name("fault", fault)
        kind = FAULT_KINDS[fault].place
        said = f"{begins} {'plate ' * (fault == 'battery_empty' and language == 'en')}{name}"
        meaning = spoken.parse(said)
        assert meaning is not None, (said, kind)
        assert (meaning.kind, meaning.value) == ("found", fault), said


@pytest.mark.parametrize(
    ("language", "worked"),
    [("en", ("replaced", "repaired")), ("es", ("cambié", "reparé"))],
)
def test_every_part_can_be_said(language, worked):
    spoken = Language.load(language=language)
    for part in PARTS:
        for word in worked:
            meaning = spoken.parse(f"{word} {wording(language).name('part', part)}")
            assert (meaning.kind, meaning.part) == ("worked", part)


def test_every_proof_is_an_observation_of_a_shipped_procedure():
    asked = {
        step.fact
        for name in shipped_procedures()
        for step in load_procedure(name).steps
        if step.waits == "observation"
    }
    for fault, kind in FAULT_KINDS.items():
        assert set(kind.proved_by) <= asked, fault


def test_no_fault_has_the_name_of_an_observation():
    """Both are keys of open items, by their subject."""
    facts = {step.fact for name in shipped_procedures() for step in load_procedure(name).steps}
    assert not facts & set(FAULT_KINDS)


def test_where_a_fault_can_be():
    door = Opening(
        name="d",
        seen_from="corridor",
        swing=Swing.SINGLE,
        leaves=(Leaf(name=Side.RIGHT),),
        motors=(),
    )
    assert places(FAULT_KINDS["arm_loose"], door) == (Subject.RIGHT_LEAF,)
    assert Subject.OPENING in places(FAULT_KINDS["sign_missing"], door)
    assert places(FAULT_KINDS["plate_dead"], door) == (Subject.LEFT_PLATE, Subject.RIGHT_PLATE)
    assert places(FAULT_KINDS["sensor_blind"], door)[0] is Subject.OPENING


@pytest.mark.parametrize(
    "body",
    [
        b'{"kind":"fault_found","subject":"left leaf","name":"arm_asleep"}',
        b'{"kind":"fault_worked","key":"left leaf/arm_loose","work":"painted"}',
        b'{"kind":"fault_worked","key":"left leaf/arm_loose","work":"replaced","part":"wheel"}',
        b'{"kind":"fault_proved","key":"left leaf/arm_loose","by":"hearsay","what":""}',
    ],
)
def test_a_line_with_a_value_that_is_not_in_the_list_is_refused(body):
    line = (
        b'{"at":"2100-01-01T00:00:00.000Z","body":'
        + body
        + b',"prev":"'
        + b"0" * 64
        + b'","seq":1}'
    )
    with pytest.raises(ValueError, match="fault_"):
        parse_line(line)
