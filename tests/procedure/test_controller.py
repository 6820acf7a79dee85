"""A controller's menu: every fault with its line, and what the prompts make of it."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import pytest

from handsfree.errors import ControllerError, ProcedureError
from handsfree.job.quantity import SETTINGS, Quantity
from handsfree.language.wording import languages, wording
from handsfree.procedure.controller import (
    Entry,
    load_controller,
    parse_controller,
    shipped_controllers,
)
from handsfree.procedure.loader import load_procedure
from handsfree.procedure.step import Procedure, Step

OPENING = """\
title = "Heron Nine"
language = "en"

[opening_speed]
say = "menu seven"
low = 2
high = 10
step = 2
save = "press the green key"
"""
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
    return parse_controller(OPENING, "heron-nine.toml", "9" * 64)


def test_a_setting_has_its_range_and_a_setting_that_is_not_there_has_none():
    controller = heron()
    assert (controller.name, controller.title) == ("heron-nine", "Heron Nine")
    assert controller.range(Quantity.OPENING_SPEED) == (Decimal(2), Decimal(10), Decimal(2))
    assert controller.range(Quantity.CLOSING_SPEED) is None


@pytest.mark.parametrize(
    ("old", "new", "line", "said"),
    [
        ('title = "Heron Nine"\n', "", 1, "'title' is missing"),
        ('"Heron Nine"', '"Heron 9"', 1, "'9' in title"),
        ('"en"', '"xx"', 2, "unknown language 'xx'"),
        ("language", "languge", 2, "did you mean 'language'?"),
        ("[opening_speed]", "[opening_sped]", 4, "did you mean 'opening_speed'?"),
        ('say = "menu seven"\n', "", 4, "no words in 'say'"),
        ("menu seven", " ", 5, "no words in 'say'"),
        ("menu seven", "menu 7", 5, "'7' in say"),
        ("menu seven", "the LED menu", 5, "'LED' in say would be spelled letter by letter"),
        ("low = 2", "low = true", 6, "no number 'low'"),
        ("low = 2", "low = 12", 6, "begins at 12 and ends at 10"),
        ("high = 10", "high = 1000", 7, "outside the range that can be dictated"),
        ("high = 10\n", "", 4, "no number 'high'"),
        ("high = 10", "high = inf", 7, "no number 'high'"),
        ("step = 2", "step = 3", 8, "from 2 to 10 in steps of 3"),
        ("step = 2", "step = 0", 8, "in steps of 0"),
        ("step = 2", "stepp = 2", 8, "did you mean 'step'?"),
        ("press the green key", "", 9, "no words in 'save'"),
        ("press the green key", "press " + 25 * "on and ", 9, "51 words"),
    ],
)
def test_a_fault_is_named_with_file_line_and_reason(old, new, line, said):
    assert old in OPENING
    with pytest.raises(ControllerError) as caught:
        parse_controller(OPENING.replace(old, new, 1), "heron-nine.toml", "9" * 64)
    faults = str(caught.value)
    assert faults.startswith(f"heron-nine.toml, line {line}: ")
    assert said in faults


def test_a_name_that_is_neither_shipped_nor_a_file_lists_what_is_shipped():
    with pytest.raises(ControllerError, match="mariner-two"):
        load_controller("mariner-three")


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
    other = parse_controller(OPENING.replace("opening_speed", "closing_speed"), "h.toml", "8" * 64)
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


def test_the_menu_in_the_guide_is_sound_and_explains_every_key():
    guide = (Path(__file__).parents[2] / "docs" / "procedures.md").read_text(encoding="utf-8")
    (menu,) = (part for part in guide.split("```") if part.startswith('toml\ntitle = "Mariner'))
    assert len(parse_controller(menu.removeprefix("toml"), "guide.toml", "7" * 64).entries) == 2
    for name in ("title", "language", *Entry.model_fields):
        assert f"`{name}`" in guide, name


@pytest.mark.parametrize("name", shipped_controllers())
def test_a_shipped_menu_has_every_setting(name):
    controller = load_controller(name)
    assert [key for key in Quantity if "speed" in key or "setting" in key] == list(
        controller.entries
    )
