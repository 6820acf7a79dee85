"""Waiting for a leaf's log to be read."""

from __future__ import annotations

import pytest

from handsfree.dialogue.questions.leaf_log import LeafLogQuestion
from handsfree.dialogue.questions.readings import ReadingsQuestion
from handsfree.dialogue.state import MeasureLeaf
from handsfree.job.reading import Subject

from ...talk import Talk
from ..measured import reads, shown
from .places import LEFT_OPENING

QUESTION = LeafLogQuestion


def ask(talk: Talk) -> None:
    talk.go_to(LEFT_OPENING)
    talk.says("measure the leaf")


@pytest.fixture
def asked(talk) -> Talk:
    ask(talk)
    return talk


@pytest.mark.parametrize("word", ["say again", "affirm"])
def test_it_is_read_once_more(asked, word):
    before = asked.replies.count(MeasureLeaf(leaf=Subject.LEFT_LEAF))
    assert asked.says(word) == ["Left leaf: reading the log."]
    assert asked.replies.count(MeasureLeaf(leaf=Subject.LEFT_LEAF)) == before + 1


def test_what_it_shows_answers_it(asked):
    reads(asked, shown())
    assert isinstance(asked.state.pending, ReadingsQuestion)


@pytest.mark.parametrize("word", ["negative", "disregard"])
def test_it_can_be_dropped(asked, word):
    asked.says(word)
    assert asked.state.pending is None and reads(asked, shown()) == []
