"""Bases of questions that accept the same kind of answer."""

from __future__ import annotations

from handsfree.dialogue.answer_set import LEAVES, YES_OR_NO
from handsfree.dialogue.questions.families import (
    LEAF_CHOICES,
    DroppableQuestion,
    FreeWordsQuestion,
    LeafQuestion,
    ValueQuestion,
    YesNoQuestion,
)
from handsfree.dialogue.turn import Turn


def dropped(talk, word: str) -> Turn:
    turn = Turn(talk.state)
    question = DroppableQuestion()
    turn.ask(question)
    turn.replies.clear()
    getattr(question, word)(turn)
    assert turn.state.pending is None
    return turn


def test_negative_says_what_fits_the_step(talk):
    (said,) = dropped(talk, "negative").replies
    assert said.text == "Dropped. Say done when it is done."


def test_disregard_repeats_the_task(talk):
    first, *_ = dropped(talk, "disregard").replies
    assert first.text == "Dropped."


def test_each_family_has_its_hint_and_other_words(talk):
    turn = Turn(talk.state)
    w = turn.words
    assert YesNoQuestion().hint(turn) == w.say("affirm_or_negative")
    assert YesNoQuestion().other_words(turn) == w.say("yes_or_type")
    assert LeafQuestion().hint(turn) == w.say("which_leaf")
    assert ValueQuestion().hint(turn) == ValueQuestion().other_words(turn) == w.say("spell_or_type")
    # Free words have no example: what fits the step comes after them.
    assert FreeWordsQuestion().hint(turn) == turn.step_hint
    assert FreeWordsQuestion().other_words(turn) == ""


def test_each_family_expects_its_answers():
    assert YesNoQuestion.expected == YES_OR_NO and not YesNoQuestion.expected.read_back
    assert LeafQuestion.expected == LEAVES and LEAVES.choices == LEAF_CHOICES.keys()
    for family in (DroppableQuestion, ValueQuestion, FreeWordsQuestion):
        assert not family.expected


def test_only_free_words_keep_their_sound():
    families = (DroppableQuestion, YesNoQuestion, LeafQuestion, ValueQuestion, FreeWordsQuestion)
    assert [each for each in families if each.keeps_sound] == [FreeWordsQuestion]
