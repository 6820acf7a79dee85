"""Pruned grammars."""

from __future__ import annotations

from random import Random

import pytest

from handsfree.job.quantity import QUANTITIES, Quantity
from handsfree.job.unit import family_of
from handsfree.language.automaton import build_automaton
from handsfree.language.interpreter import Language
from handsfree.language.meaning import ReadingSaid
from handsfree.language.prune import pruned
from handsfree.language.wording import languages


@pytest.mark.slow
@pytest.mark.parametrize("name", languages())
@pytest.mark.parametrize(
    "quantity",
    [Quantity.OPENING_TIME, Quantity.LEAF_WIDTH, Quantity.CLOSING_SPEED, Quantity.CYCLES],
)
def test_of_the_readings_those_of_one_quantity_are_left(name: str, quantity: Quantity):
    """Against the meaning of sentences that are drawn from the whole grammar."""
    language, rng = Language.load(language=name), Random(11)
    automaton = language.reading_automaton(quantity)
    kept = 0
    for _ in range(3000):
        text = language.sentence(rng)
        meaning = language.parse(text)
        if not isinstance(meaning, ReadingSaid):
            continue
        other = meaning.quantity not in (None, quantity)
        if other:
            assert not automaton.accepts(text.split()), text
        elif meaning.quantity is quantity:
            assert automaton.accepts(text.split()), text
            kept += 1
        elif meaning.unit is not None and automaton.accepts(text.split()):
            unit = "lbf" if meaning.unit == "lb" else meaning.unit
            family = QUANTITIES[quantity].family
            assert family in (family_of(unit), family_of(meaning.unit)), text
    assert kept


def test_what_else_may_be_said_there_is_left(language: Language):
    automaton = language.reading_automaton(Quantity.OPENING_TIME)
    for said in ("affirm", "not in order", "start the clock left leaf", "why", "six point two"):
        assert automaton.accepts(said.split()), said


def test_a_tag_that_is_not_named_stays_and_a_rule_with_nothing_left_is_gone(language: Language):
    grammar = pruned(language.grammar, {"value": ("push",)})
    choice = build_automaton(grammar, "choices.choice")
    assert choice.accepts(["push"]) and choice.accepts(["pushes"])
    assert not choice.accepts(["pull"]) and not choice.accepts(["left"])
    assert "choices.complaint" not in grammar.rules
    assert build_automaton(grammar, "words.word").accepts(["affirm"])
