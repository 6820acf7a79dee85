"""An utterance not understood, tried against the answers expected at a controller's guide."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from handsfree.language.meaning import CodeSaid
from handsfree.recognition.port import Utterance
from handsfree.visit.understanding import CLOSE_CODE_NATS, understand

from ..guided import guided

SOUND = Utterance("[unk]", samples=np.zeros(8000, np.int16))


@dataclass
class Again:
    """A second hearing that hears one code, and one answer."""

    shown: str
    answer: str = "done"
    other: str = "it shows victor foxtrot"
    over: float = 9.0

    def codes(self, samples) -> tuple[tuple[str, float], ...]:
        return (self.shown, 20.0), ("[unk]", 20.1), (self.other, 20.0 + self.over)

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


def test_a_code_that_is_as_likely_is_told_with_it(talk, language):
    guided(talk)
    close = Again("it shows delta five", other="it shows delta nine", over=CLOSE_CODE_NATS - 0.1)
    found = understand(SOUND, talk.state, language, close)
    assert found.meaning == CodeSaid(code="D5")
    assert found.may_be == ("it shows delta nine",)


def test_a_code_that_is_less_likely_is_not_told(talk, language):
    guided(talk)
    clear = Again("it shows delta five", other="it shows delta nine", over=CLOSE_CODE_NATS + 0.1)
    assert understand(SOUND, talk.state, language, clear).may_be == ()


def test_other_words_for_the_same_code_are_no_other_code(talk, language):
    guided(talk)
    same = Again("it shows delta nine", other="display shows delta niner", over=0.1)
    assert understand(SOUND, talk.state, language, same).may_be == ()
