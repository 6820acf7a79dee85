"""The checks of steps that are asked as one question."""

from __future__ import annotations

import pytest

from handsfree.errors import ProcedureError
from handsfree.procedure.loader import parse_procedure

from ..talk import PROCEDURE, grouped

GROUPED = grouped(PROCEDURE)
MEMBER = 'group = "by-hand"\nitem = "swings freely"'


def fault(text: str) -> ProcedureError:
    with pytest.raises(ProcedureError) as caught:
        parse_procedure(text, "g.toml", "0" * 64)
    return caught.value


def line_of(text: str, part: str) -> int:
    return text[: text.index(part)].count("\n") + 1


def test_a_group_is_loaded():
    procedure = parse_procedure(GROUPED, "g.toml", "0" * 64)
    (step,) = (step for step in procedure.steps if step.group is not None)
    assert (step.group, step.item) == ("by-hand", "swings freely")


@pytest.mark.parametrize(
    ("step", "why"),
    [
        ("power-off", "must not be skipped"),
        ("learn", "has a caution"),
        ("opening-time", "is measured again where it fails"),
    ],
)
def test_a_step_that_needs_a_question_of_its_own_is_refused_with_its_line(step, why):
    text = PROCEDURE.replace(f'id = "{step}"', f'id = "{step}"\ngroup = "all"\nitem = "done"')
    error = fault(text)
    assert f"step '{step}' is in the group 'all' and {why}" in error.message
    assert error.line == line_of(text, 'group = "all"')


@pytest.mark.parametrize(
    ("more", "why"),
    [
        ('danger = "people"', "is marked 'people'"),
        ('needs = ["learn"]', "stands behind a gate"),
        ('on = { ok = "learn" }', "leads on from 'ok'"),
        ('branch = "later"', "belongs to a branch"),
        ("may_skip = false", "must not be skipped"),
        ('caution = "It moves."\nword = "clear"', "has a caution"),
    ],
)
def test_what_makes_a_step_dangerous_keeps_it_out_of_a_group(more, why):
    assert (
        f"and {why}, so it needs a question of its own"
        in fault(GROUPED.replace(MEMBER, f"{MEMBER}\n{more}")).message
    )


def test_the_stages_of_the_power_and_of_fire_have_no_groups():
    text = GROUPED.replace('id = "safe"', 'id = "power-off"').replace(
        'stage = "safe"', 'stage = "power-off"'
    )
    assert "belongs to the stage 'power-off'" in fault(text).message


@pytest.mark.parametrize(
    ("old", "new", "why"),
    [
        ('\nitem = "swings freely"', "", "is in a group without an item"),
        ('group = "by-hand"\n', "", "has an item and no group"),
        ("swings freely", "word " * 26, "item has 26 words"),
        ("swings freely", "90 degrees", "'9' in item cannot be spoken"),
    ],
)
def test_an_item_is_what_the_question_lists(old, new, why):
    assert why in fault(GROUPED.replace(old, new.rstrip() if new.strip() else new)).message


MORE = """[[step]]
id = "{id}"
stage = "{stage}"
prompt = "Look once more, {id}."
brief = "Look, {id}."
waits = "{waits}"
{group}
{fact}
why = "It is a test."

"""
IN_GROUP = 'group = "by-hand"\nitem = "looked at"'
FACT = 'fact = "looked"'
NEXT = '[[step]]\nid = "motor-hand"'
BY_HAND = GROUPED[GROUPED.index('[[step]]\nid = "swings-free"') : GROUPED.index(NEXT)]


def more(name: str, stage: str, waits: str, group: str = IN_GROUP, fact: str = FACT) -> str:
    return MORE.format(id=name, stage=stage, waits=waits, group=group, fact=fact)


def test_a_group_stays_within_one_stage():
    error = fault(GROUPED + "\n" + more("late", "times", "observation"))
    assert "which begins in the stage 'safe' (g.toml, line" in error.message


def test_one_answer_fits_every_step_of_a_group():
    text = GROUPED.replace(NEXT, more("mixed", "safe", "done", fact="") + NEXT)
    assert "waits for 'done' in the group 'by-hand'" in fault(text).message


def test_nothing_comes_between_the_steps_of_a_group():
    between = more("alone", "safe", "done", group="", fact="")
    text = GROUPED.replace(NEXT, between + more("last", "safe", "observation") + NEXT)
    assert "and step 'alone' comes between" in fault(text).message


def test_a_question_is_not_longer_than_people_remember():
    long = BY_HAND.replace("swings freely", "very good " * 10 + "indeed")
    other = (
        long.replace("swings-free", "swings-more")
        .replace("swings_freely", "swings_more")
        .replace("Swing the {subject}.", "Swing the {subject} more.")
    )
    error = fault(GROUPED.replace(BY_HAND, long + other))
    assert "whose question has 42 words; nobody remembers more than 40" in error.message


def test_a_value_has_no_item():
    text = PROCEDURE.replace('fact = "hand"', 'fact = "hand"\ngroup = "hands"\nitem = "known"')
    assert "waits for a choice and has an item" in fault(text).message
