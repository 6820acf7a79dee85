"""The second recognition: the sound compared with only the expected answers."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from handsfree.dialogue.sound_alikes import ALIKE_NATS
from handsfree.errors import ModelError
from handsfree.job.quantity import Quantity
from handsfree.language.interpreter import Language
from handsfree.recognition.constrained_retry import (
    LONGEST_READING_S,
    LONGEST_S,
    WITHIN,
    ConstrainedRetry,
)
from handsfree.recognition.grammar_model import recognizer_for
from handsfree.recognition.graph_compiler import Costs
from handsfree.recognition.speech_model import SpeechModel
from handsfree.sample_rate import SAMPLE_RATE_HZ
from tests.speech_fixtures import Synthesize

from ..dynamic_model import make_dynamic


@pytest.fixture(scope="module")
def again(language: Language) -> ConstrainedRetry:
    return ConstrainedRetry(language)


@pytest.mark.slow
@pytest.mark.parametrize("said", ["in order", "not in order", "affirm", "negative", "done"])
def test_an_answer_is_heard_as_what_it_is(
    again: ConstrainedRetry, synthesize: Synthesize, said: str
):
    for read_back in (True, False):
        assert again.text(synthesize(said), read_back=read_back) == said


@pytest.mark.parametrize(
    "said", ["the cafeteria downstairs has wonderful pancakes", "left leaf closing time six"]
)
def test_other_speech_and_whole_readings_are_no_answer(
    again: ConstrainedRetry, synthesize: Synthesize, language: Language, said: str
):
    assert language.parse(again.text(synthesize(said), read_back=True)) is None


@pytest.mark.slow
@pytest.mark.parametrize("said", ["it shows victor whiskey", "it shows echo four two"])
def test_what_a_controller_shows_is_heard(
    again: ConstrainedRetry, synthesize: Synthesize, said: str
):
    found = again.codes(synthesize(said))
    costs = [cost for _, cost in found]
    assert found[0][0] == said and costs == sorted(costs)


@pytest.mark.slow
def test_other_speech_noise_and_long_sounds_are_no_code(
    again: ConstrainedRetry, synthesize: Synthesize, language: Language
):
    noise = np.random.default_rng(3).normal(0, 300, 32_000).astype(np.int16)
    longer = np.zeros(round(LONGEST_READING_S * SAMPLE_RATE_HZ) + 1, np.int16)
    for sound in (synthesize("the cafeteria downstairs has wonderful pancakes"), noise, longer):
        assert not [text for text, _ in again.codes(sound)[:1] if language.parse(text)]


@pytest.mark.slow
def test_noise_is_no_answer(again: ConstrainedRetry, language: Language):
    noise = np.random.default_rng(3).normal(0, 300, 32_000).astype(np.int16)
    assert language.parse(again.text(noise, read_back=True)) is None


def test_a_long_utterance_is_no_answer(again: ConstrainedRetry, synthesize: Synthesize):
    """A whole second of silence is cut with every utterance; an answer takes no longer than one."""
    sound = synthesize("in order")
    longer = np.concatenate((sound, np.zeros(round(LONGEST_S * SAMPLE_RATE_HZ), np.int16)))
    assert again.text(sound, read_back=True) == "in order"
    assert again.text(longer, read_back=True) == ""


@pytest.mark.slow
def test_the_kinder_the_comparison_the_more_becomes_an_answer(
    language: Language, synthesize: Synthesize
):
    """Where other speech costs nothing all is other speech; where it is dear nothing is."""
    model, answers = SpeechModel.load(), language.automaton("answer")
    sound = synthesize("in the border")
    free = recognizer_for(model, answers, Costs(other_speech=0.0, other_phone=0.0))
    dear = recognizer_for(model, answers, Costs(other_speech=500.0, other_phone=500.0))
    assert language.parse(free.recognize(sound).text) is None
    assert language.parse(dear.recognize(sound).text) is not None


def test_a_dynamic_model_hears_nothing_more(
    tmp_path: Path, language: Language, synthesize: Synthesize
):
    folder = make_dynamic(tmp_path / "model")
    again = ConstrainedRetry(language, folder)
    assert again.text(synthesize("in order"), read_back=True) == ""


def test_a_model_that_is_not_there_is_named(tmp_path: Path, language: Language):
    again = ConstrainedRetry(language, tmp_path / "none")
    with pytest.raises(ModelError, match="no such speech model folder"):
        again.text(np.zeros(1600, np.int16), read_back=False)


@pytest.mark.slow
def test_a_reading_is_heard_among_those_of_its_quantity(
    again: ConstrainedRetry, synthesize: Synthesize, language: Language
):
    sound = synthesize("opening time six point two")
    for quantity, text in (
        (Quantity.OPENING_TIME, "opening time six point two"),
        (Quantity.CLOSING_TIME, None),
    ):
        heard = language.parse(again.text(sound, read_back=True, quantity=quantity))
        assert getattr(heard, "quantity", None) is (quantity if text else None)
    assert again.text(sound, read_back=True) != "opening time six point two"


@pytest.mark.slow
def test_a_reading_may_be_longer_than_an_answer_and_no_longer_than_that(
    again: ConstrainedRetry, synthesize: Synthesize
):
    sound = synthesize("left leaf opening time six point two seconds")
    silence = np.zeros(round(LONGEST_READING_S * SAMPLE_RATE_HZ), np.int16)
    seconds = {"read_back": True, "quantity": Quantity.OPENING_TIME}
    assert again.text(sound, **seconds).startswith("left leaf opening time six point two")
    assert again.text(np.concatenate((sound, silence)), **seconds) == ""


@pytest.mark.slow
def test_a_reading_is_told_with_what_else_it_may_have_been(
    again: ConstrainedRetry, synthesize: Synthesize, language: Language
):
    sound = synthesize("left leaf closing force forty newtons")
    weighed = again.readings(sound, Quantity.CLOSING_FORCE)
    costs = [cost for _, cost in weighed]
    assert costs == sorted(costs) and costs[-1] - costs[0] <= WITHIN + 0.1
    values = [language.parse(text).value for text, _ in weighed]
    assert values[0] == 40
    assert len({text for text, _ in weighed}) == len(weighed) > 1


@pytest.mark.slow
def test_forty_and_fourteen_newtons_whose_n_is_one_or_two_are_near(
    again: ConstrainedRetry, synthesize: Synthesize, language: Language
):
    """Which of them is said first depends on the voice; that both are near does not."""
    for number in ("forty", "fourteen"):
        sound = synthesize(f"left leaf closing force {number} newtons")
        cost_of: dict[int, float] = {}
        for text, cost in again.readings(sound, Quantity.CLOSING_FORCE):
            cost_of.setdefault(int(language.parse(text).value), cost)
        assert abs(cost_of[40] - cost_of[14]) <= ALIKE_NATS, number


def test_of_a_long_utterance_or_with_a_dynamic_model_nothing_is_told(
    tmp_path: Path, again: ConstrainedRetry, synthesize: Synthesize, language: Language
):
    sound = synthesize("opening time six")
    long = np.concatenate((sound, np.zeros(round(LONGEST_READING_S * SAMPLE_RATE_HZ), np.int16)))
    assert again.readings(long, Quantity.OPENING_TIME) == ()
    dynamic = ConstrainedRetry(language, make_dynamic(tmp_path / "model"))
    assert dynamic.readings(sound, Quantity.OPENING_TIME) == ()
    assert dynamic.codes(sound) == ()
