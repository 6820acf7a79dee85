"""The common properties of all questions; each has its file and its test."""

from __future__ import annotations

import importlib
import pkgutil
from types import ModuleType
from typing import get_args

import pytest
from pydantic import ValidationError

from handsfree.dialogue import questions, state_machine
from handsfree.dialogue.questions import families
from handsfree.dialogue.questions.cause_search import CauseSearchQuestion
from handsfree.dialogue.questions.guide_entry import GuideEntryQuestion
from handsfree.dialogue.questions.guide_learn import GuideLearnQuestion
from handsfree.dialogue.questions.jog_offer import JogOfferQuestion
from handsfree.dialogue.questions.leaf_construction import LeafConstructionQuestion
from handsfree.dialogue.questions.question import Question
from handsfree.dialogue.state import Say
from handsfree.dialogue.turn import Turn
from handsfree.language.meaning import Word

BASES = ("families", "question")
FILES = [each.name for each in pkgutil.iter_modules(questions.__path__) if each.name not in BASES]
WORDS = set(get_args(Word.model_fields["kind"].annotation))


def its_test(file: str) -> ModuleType:
    return importlib.import_module(f"{__package__}.test_{file}")


def questions_in(module: ModuleType) -> list[type[Question]]:
    return [
        each
        for each in vars(module).values()
        if isinstance(each, type)
        and issubclass(each, Question)
        and each.__module__ == module.__name__
    ]


@pytest.fixture(params=FILES)
def asked(request, talk):
    """A conversation in which the question of each file was asked, by way of its test."""
    its_test(request.param).ask(talk)
    return talk


def test_a_question_cannot_be_dropped_unless_it_says_so(talk):
    for word in ("affirm", "negative", "disregard", "repeat"):
        turn = Turn(talk.state)
        turn.wait_for(Question())
        getattr(Question(), word)(turn)
        assert turn.state.pending == Question()
        assert turn.replies == [Say(text="Say done when it is done.", role="repair")]


@pytest.mark.parametrize("file", FILES)
def test_a_file_has_one_question_which_its_test_asks(file, talk):
    module = importlib.import_module(f"{questions.__name__}.{file}")
    (question,) = questions_in(module)
    assert question is its_test(file).QUESTION
    its_test(file).ask(talk)
    assert type(talk.state.pending) is question


def test_every_question_comes_from_a_family_or_stands_alone(asked):
    question = type(asked.state.pending)
    assert question.__base__ in (Question, *questions_in(families))


def test_it_waits_through_a_pause(asked):
    before = asked.state.pending
    asked.says("stand by")
    spoken = asked.says("carry on")
    assert asked.state.pending == before and spoken


def test_it_waits_through_what_is_not_understood(asked):
    before = asked.state.pending
    if not before.free_words:
        for _ in range(4):
            assert asked.says("nice weather today")
        assert asked.state.pending == before


@pytest.mark.parametrize("said", ["why", "help", "where am i", "what is left", "what is the limit"])
def test_it_waits_through_a_request_for_information(asked, said):
    before = asked.state.pending
    if not before.free_words:
        asked.says(said)
        assert asked.state.pending == before


@pytest.mark.parametrize("said", ["done", "skip"])
def test_the_answer_comes_first(asked, said):
    before = asked.state.pending
    answers_it = (
        isinstance(before, CauseSearchQuestion | JogOfferQuestion | LeafConstructionQuestion)
        and said == "skip"
    )
    answers_it = answers_it or isinstance(before, GuideEntryQuestion | GuideLearnQuestion)
    if not before.free_words and not answers_it:
        assert asked.says(said)[0] == "First answer this."
        assert asked.state.pending == before


def test_it_names_only_what_can_be_said(asked):
    question = asked.state.pending
    assert question.expected.words <= WORDS
    assert question.admits <= state_machine.AFTER_THE_ANSWER


def test_it_always_has_a_hint(asked):
    turn = Turn(asked.state)
    hint = asked.state.pending.hint(turn)
    assert hint
    if not asked.state.pending.free_words:
        assert asked.says("help")[0].startswith(hint)


def test_it_is_a_frozen_value_of_the_state(asked):
    question = asked.state.pending
    assert question == question.model_copy()
    assert asked.state.model_dump(include={"pending"})["pending"].keys() == set(
        type(question).model_fields
    )
    for field in type(question).model_fields:
        with pytest.raises(ValidationError):
            setattr(question, field, None)
