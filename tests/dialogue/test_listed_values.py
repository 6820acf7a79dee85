"""Several values of a leaf, asked in one question and said in one breath.

The way of asking is our own choice, no published source.
"""

from __future__ import annotations

import pytest

from handsfree.dialogue.listed_values import listed_at
from handsfree.job.closed_lists import Confirm
from handsfree.job.opening import Swing
from handsfree.journal import events as ev
from handsfree.language.interpreter import Language

from ..talk import Talk
from .technician import walked_to

NAMES = ("opening speed", "backcheck speed", "closing speed", "latching speed", "hold open setting")
ALL = " ".join(f"{name} {nth}" for nth, name in enumerate(NAMES, 1))
ASKED = (
    f"As found, left leaf: {', '.join(NAMES)}? Change nothing yet. "
    "Say each with its name, in one breath or one by one."
)


def at_settings(
    language: Language,
    *,
    at: str = "opening-speed-found:left leaf",
    procedure: str = "yearly-service",
    swing: Swing = Swing.SAME_WAY,
    confirm: Confirm = "doubtful",
) -> Talk:
    """At a step of a visit to a door without faults."""
    return walked_to(language, at, procedure=procedure, swing=swing, confirm=confirm)


def filed(talk: Talk) -> list[tuple[str, str, str]]:
    """The settings filed: leaf, quantity, value."""
    return [
        (str(b.reading.subject), str(b.reading.quantity).replace("_", " "), str(b.reading.value))
        for b in talk.of(ev.ReadingAccepted)
        if str(b.reading.quantity).replace("_", " ") in NAMES
    ]


def test_all_settings_of_a_leaf_are_one_question(language):
    talk = at_settings(language)
    assert talk.says("say again") == [ASKED]
    said = talk.says(ALL)
    assert filed(talk) == []  # said back, and filed with the next answer
    assert "Left leaf, hold open setting, five." in said[0]
    assert said[-1].startswith("As found, right leaf: opening speed, ")
    talk.says(ALL)
    assert filed(talk) == [("left leaf", name, str(nth)) for nth, name in enumerate(NAMES, 1)]
    talk.says("locked out")
    assert [leaf for leaf, *_ in filed(talk)] == ["left leaf"] * 5 + ["right leaf"] * 5


def test_settings_without_a_leaf_belong_to_the_leaf_that_is_asked_for(language):
    talk = at_settings(language)
    talk.says(ALL, "closing speed 9", "affirm")
    assert ("left leaf", "closing speed", "3") in filed(talk)
    assert ("right leaf", "closing speed", "9") in filed(talk)


def test_a_named_leaf_is_still_the_one_before(language):
    talk = at_settings(language)
    talk.says(ALL, "left leaf closing speed 9")
    assert filed(talk) == [] and talk.state.pending is not None
    talk.says("affirm")
    assert filed(talk) == [("left leaf", "closing speed", "9")]


def test_negative_takes_them_all_back(language):
    talk = at_settings(language)
    talk.says(ALL, "negative")
    assert filed(talk) == [] and talk.state.progress.at == "opening-speed-found:left leaf"


def test_who_says_only_the_first_is_asked_for_the_others_one_by_one(language):
    talk = at_settings(language)
    said = talk.says("five")
    assert talk.state.progress.at == "backcheck-speed-found:left leaf"
    assert listed_at(talk.state) == () and "backcheck speed of the left leaf" in said[-1]


def test_some_of_them_are_kept_and_the_rest_is_asked_one_by_one(language):
    talk = at_settings(language)
    talk.says("opening speed 3 closing speed 4", "6")
    assert talk.state.progress.at == "latching-speed-found:left leaf"
    assert [value for *_, value in filed(talk)] == ["3", "4"]


def test_skip_skips_what_was_asked_with_one_reason(language):
    talk = at_settings(language)
    talk.says("skip", "no menu on this one")
    skipped = {body.key for body in talk.of(ev.StepEnded) if body.outcome == "skipped"}
    assert len(skipped) == 5 and all(key.endswith("found:left leaf") for key in skipped)
    assert talk.state.progress.at == "opening-speed-found:right leaf"


def test_each_is_asked_alone_while_every_value_needs_its_affirm(language):
    talk = at_settings(language, confirm="every")
    assert listed_at(talk.state) == ()
    assert "Read the opening speed of the left leaf" in talk.says("say again")[-1]


@pytest.mark.parametrize("word", ["done", "yes", "affirm", "no"])
def test_a_word_files_none_of_them(language, word):
    talk = at_settings(language)
    talk.says(word)
    assert filed(talk) == [] and talk.state.progress.at == "opening-speed-found:left leaf"


def test_settings_as_left_are_asked_as_left(language):
    talk = at_settings(
        language,
        at="opening-speed-left:left leaf",
        procedure="controller-replaced-single",
        swing=Swing.SINGLE,
    )
    asked = talk.says("say again")[-1]
    assert asked.startswith("As left, left leaf: opening speed, ") and "Change" not in asked


def test_settings_read_before_are_not_listed_but_known(language):
    talk = at_settings(language, at="opening-speed-left:left leaf")
    assert listed_at(talk.state) == ()
    assert "Still the same?" in talk.says("say again")[-1]


def test_it_is_asked_in_spanish():
    talk = at_settings(Language.load(language="es"))
    (asked,) = talk.says("repita")
    assert asked.startswith("Al llegar, hoja izquierda: ")
    assert "Diga cada uno con su nombre" in asked


# --- width and height


def sizes(talk: Talk) -> list[tuple[str, str, str]]:
    return [
        (str(b.reading.subject), str(b.reading.quantity), str(b.reading.value))
        for b in talk.of(ev.ReadingAccepted)
    ]


def test_width_and_height_are_one_question_and_one_affirm(language):
    talk = at_settings(language, at="width:left leaf")
    assert talk.says("say again")[-1] == (
        "Width and height of the left leaf? Say thirty six by eighty four, or one by one."
    )
    talk.says("thirty six by eighty four")
    assert sizes(talk) == [] and talk.state.pending is not None  # the width sets limits
    talk.says("affirm")
    assert sizes(talk) == [("left leaf", "leaf_width", "36"), ("left leaf", "leaf_height", "84")]
    assert talk.state.progress.at == "weight:left leaf"


@pytest.mark.parametrize("width", ["36 inches", "leaf width 36 inches"])
def test_the_width_alone_is_followed_by_the_height(language, width):
    talk = at_settings(language, at="width:left leaf")
    talk.says(width, "affirm")
    assert sizes(talk) == [("left leaf", "leaf_width", "36")]
    assert talk.state.progress.at == "height:left leaf" and listed_at(talk.state) == ()


def test_the_sizes_of_the_second_leaf_are_those_of_the_first(language):
    talk = at_settings(language, at="width:right leaf")
    assert listed_at(talk.state) == ()
    assert talk.says("say again")[-1].startswith("Right leaf the same: thirty six inches by")


def test_after_no_each_is_asked_alone(language):
    """Whoever refuses the sizes of the other leaf is asked one by one."""
    talk = at_settings(language, at="width:right leaf")
    talk.says("affirm", "no")
    assert listed_at(talk.state) == ()
    assert "width of the right leaf" in talk.says("say again")[-1]
