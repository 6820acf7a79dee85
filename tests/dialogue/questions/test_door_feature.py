"""Asking for door features that the job file does not state."""

from __future__ import annotations

import pytest

from handsfree.dialogue.questions.door_feature import DoorFeatureQuestion
from handsfree.dialogue.questions.fact import FactQuestion
from handsfree.journal.events import FactAccepted

from ...talk import Talk
from ..door_talk import TOLD, at_the_door

QUESTION = DoorFeatureQuestion


def ask(talk: Talk) -> None:
    asking = DoorFeatureQuestion(feature="fire_rated")
    opening = talk.state.progress.job.opening.model_copy(update={"not_known": ("fire_rated",)})
    sheet = talk.state.progress.job.sheet.model_copy(update={"opening": opening})
    job = talk.state.progress.job.model_copy(update={"sheet": sheet, "opening": opening})
    progress = talk.state.progress.model_copy(update={"job": job})
    talk.state = talk.state.model_copy(update={"pending": asking, "progress": progress})


def without(key: str) -> str:
    return "\n".join(line for line in TOLD.splitlines() if not line.startswith(key))


def filed(talk: Talk) -> list[tuple[str, str]]:
    return [(each.fact.name, each.fact.value) for each in talk.of(FactAccepted)]


@pytest.mark.parametrize(
    ("word", "value"), [("yes", "yes"), ("negative", "no"), ("I don't know", "unknown")]
)
def test_one_word_answers_a_question_of_yes_and_no(word, value):
    talk, said = at_the_door(without("fire_rated"))
    assert said[-1] == "Is there a fire label on the leaf or the frame?"
    spoken = talk.says(word)
    assert filed(talk) == [("fire_rated", value)]
    assert spoken[0].startswith("Fire label, ")
    assert talk.state.progress.at == "people-safe" and talk.state.pending is None


def test_any_other_answer_is_read_back():
    talk, _ = at_the_door(without("lock"))
    assert talk.says("magnetic lock") == ["Lock, magnetic lock."]
    assert isinstance(talk.state.pending, FactQuestion) and filed(talk) == []
    talk.says("affirm")
    assert filed(talk) == [("lock", "magnetic_lock")]
    assert talk.state.progress.at == "people-safe"


def test_a_refused_answer_is_asked_for_again():
    talk, _ = at_the_door(without("lock"))
    talk.says("latch", "negative")
    assert talk.state.pending == DoorFeatureQuestion(feature="lock")


def test_what_has_to_be_known_is_asked_again():
    talk, said = at_the_door(without("swing"))
    assert talk.says("not sure") == ["I need to know that. Take a look.", said[-1]]
    assert filed(talk) == []


@pytest.mark.parametrize("word", ["affirm", "negative", "disregard"])
def test_yes_and_no_are_no_lock(word):
    talk, said = at_the_door(without("lock"))
    assert talk.says(word) == [said[-1]] and filed(talk) == []


def test_a_statement_answers_it_and_any_other_is_kept_too():
    talk, _ = at_the_door(without("lock"))
    talk.says("it has guide rails", "affirm")
    assert talk.state.pending == DoorFeatureQuestion(feature="lock")
    talk.says("the lock is a fail safe strike", "affirm")
    assert filed(talk) == [("guide_rails", "yes"), ("lock", "strike_fail_safe")]


def test_its_hint_names_the_answers():
    talk, _ = at_the_door(without("power_supply"))
    assert talk.says("help")[0].startswith("Say breaker or plug. Or say I do not know.")


def test_both_sides_is_understood_as_the_tool_says_it():
    talk, said = at_the_door(TOLD.replace("sensors = false", "sensors = true"))
    assert said[-1].endswith("the push side, the pull side, or on both sides?")
    assert talk.says("both sides") == ["Side of the sensors, on both sides."]
    talk.says("affirm")
    assert filed(talk) == [("sensor_side", "both_sides")]
