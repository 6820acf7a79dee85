"""Which answers may be sought once more, in every place where the conversation can stand."""

from __future__ import annotations

import pytest

from handsfree.dialogue.awaited import NOTHING, awaited
from handsfree.grammar.meaning import Choice, Word

AGREEMENT = {"affirm", "negative"}


def words(talk) -> set[str]:
    return set(awaited(talk.state).words)


def choices(talk) -> set[str]:
    return set(awaited(talk.state).choices)


def test_a_step_of_work_waits_for_done(talk):
    assert (words(talk), choices(talk)) == ({"done"}, set())


def test_a_caution_is_heard_at_once_or_not_at_all(talk):
    talk.says("done")
    assert talk.replies[-1].text.startswith("Caution.")
    assert awaited(talk.state) == NOTHING
    talk.says("clear")
    assert words(talk) == {"done"}


def test_an_observation_waits_for_both_of_its_answers(talk):
    talk.says("done", "clear", "done")
    assert choices(talk) == {"in_order", "not_in_order"}
    assert awaited(talk.state).read_back


def test_a_readback_waits_for_the_refusal_as_for_the_assent(talk):
    talk.go_to("opening-time:left leaf")
    assert awaited(talk.state) == NOTHING  # a number is waited for
    talk.says("six point two")
    assert words(talk) == AGREEMENT
    assert not awaited(talk.state).read_back
    talk.says("affirm", "withdraw that")
    assert words(talk) == AGREEMENT


def test_what_is_said_in_free_words_is_never_sought_again(talk):
    talk.says("done", "clear", "done", "not in order", "affirm")
    assert talk.replies[-1].text == "Say in a few words what is wrong."
    assert awaited(talk.state) == NOTHING


@pytest.mark.parametrize("word", ["stop", "stand by"])
def test_nothing_is_sought_while_it_stands_by(talk, word):
    talk.says(word)
    assert awaited(talk.state) == NOTHING


def test_a_choice_waits_for_what_the_step_offers(talk):
    talk.go_to("motor-hand:motor one")
    assert choices(talk) == {"left", "right"}


def test_what_fits_is_of_the_kind_and_value_that_is_waited_for(talk, language):
    talk.go_to("motor-hand:motor one")
    now = awaited(talk.state)
    assert now.fits(Choice(value="left", noun="hand"))
    for other in ("push", "in order", "affirm", "six point two", "stop"):
        assert not now.fits(language.parse(other)), other
    assert not now.fits(None)
    assert not now.fits(Word(kind="affirm"))
