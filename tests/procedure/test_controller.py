"""A controller's settings, and their names in the prompts."""

from __future__ import annotations

from decimal import Decimal

import pytest

from handsfree.errors import ProcedureError
from handsfree.job.quantity import SETTINGS, Quantity
from handsfree.language.wording import languages, wording
from handsfree.procedure.controller import Controller, Entry
from handsfree.procedure.loader import load_procedure
from handsfree.procedure.step import Procedure, Step

SPEED = """
name = "speed"
title = "Speed"

[[stage]]
id = "settings"
title = "settings"

[[step]]
id = "speed"
stage = "settings"
for_each = "leaf"
prompt = "What is {setting} set to?"
brief = "Now {setting}?"
waits = "reading"
quantity = "opening_speed"
setting = "opening_speed"
attempts = 2
adjust = "slow {setting}"
why = "For the record."
"""


@pytest.fixture
def procedure_file(tmp_path):
    file = tmp_path / "speed.toml"
    file.write_text(SPEED, encoding="utf-8")
    return file


def only_step(procedure: Procedure) -> Step:
    (step,) = procedure.steps
    return step


def heron():
    entry = Entry(say="menu seven", low=2, high=10, step=2, save="press the green key")
    return Controller(
        name="heron-nine",
        title="Heron Nine",
        language="en",
        sha256="9" * 64,
        entries={Quantity.OPENING_SPEED: entry},
    )


def test_a_setting_has_its_range_and_a_setting_that_is_not_there_has_none():
    controller = heron()
    assert (controller.name, controller.title) == ("heron-nine", "Heron Nine")
    assert controller.range(Quantity.OPENING_SPEED) == (Decimal(2), Decimal(10), Decimal(2))
    assert controller.range(Quantity.CLOSING_SPEED) is None


def test_without_a_menu_a_setting_is_named_by_its_leaf(procedure_file):
    step = only_step(load_procedure(procedure_file))
    assert step.prompt == "What is the opening speed of the {subject} set to?"
    assert step.adjust == "slow the opening speed of the {subject}"


def test_with_a_menu_its_entry_is_said_and_how_a_change_is_kept(procedure_file):
    procedure = load_procedure(procedure_file, heron())
    step = only_step(procedure)
    assert procedure.controller == heron()
    assert step.brief == "Now menu seven, opening speed, {subject}?"
    assert step.adjust == "slow menu seven, opening speed, {subject}, then press the green key"


def test_a_menu_without_that_setting_changes_nothing(procedure_file):
    entries = {Quantity.CLOSING_SPEED: heron().entries[Quantity.OPENING_SPEED]}
    other = heron().model_copy(update={"entries": entries})
    assert only_step(load_procedure(procedure_file, other)).brief == (
        "Now the opening speed of the {subject}?"
    )


def test_the_hash_of_a_procedure_covers_the_menu(procedure_file):
    changed = heron().model_copy(update={"sha256": "8" * 64})
    hashes = [load_procedure(procedure_file, menu).sha256 for menu in (None, heron(), changed)]
    assert len(set(hashes)) == 3
    assert load_procedure(procedure_file, heron()).sha256 == hashes[1]


@pytest.mark.parametrize("language", languages())
@pytest.mark.parametrize("setting", SETTINGS)
def test_every_language_can_name_a_setting(tmp_path, language, setting):
    file = tmp_path / "speed.toml"
    file.write_text(SPEED.replace("opening_speed", setting), encoding="utf-8")
    quantity = wording(language).quantity(setting)
    menu = heron().model_copy(update={"language": language})
    for controller in (None, menu):
        brief = only_step(load_procedure(file, controller, language)).brief
        assert quantity in brief and "{subject}" in brief and "{setting}" not in brief


def test_a_menu_in_another_language_is_refused(procedure_file):
    spanish = heron().model_copy(update={"language": "es"})
    with pytest.raises(ProcedureError, match="Heron Nine is written in 'es'"):
        load_procedure(procedure_file, spanish)
