"""An utterance not understood, tried against the answers expected at a controller's guide."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from handsfree.language.meaning import CodeSaid
from handsfree.recognition.port import Utterance
from handsfree.visit.understanding import understand

from ..guided import guided

SOUND = Utterance("[unk]", samples=np.zeros(8000, np.int16))


@dataclass
class Again:
    """A second hearing that hears one code, and one answer."""

    shown: str
    answer: str = "done"

    def code(self, samples) -> str:
        return self.shown

    def text(self, samples, *, read_back, quantity=None) -> str:
        return self.answer

    def readings(self, samples, quantity) -> tuple[tuple[str, float], ...]:
        return ()


def test_a_code_is_sought_before_the_words_that_end_an_entry(talk, language):
    guided(talk)
    found = understand(SOUND, talk.state, language, Again("it shows victor whiskey"))
    assert found.meaning == CodeSaid(code="VW") and found.retried


def test_where_no_code_is_heard_the_answer_is_sought(talk, language):
    guided(talk)
    found = understand(SOUND, talk.state, language, Again("[unk]"))
    assert found.text == "done" and found.retried


def test_no_code_is_sought_where_none_is_waited_for(talk, language):
    found = understand(SOUND, talk.state, language, Again("it shows victor whiskey"))
    assert not isinstance(found.meaning, CodeSaid)
