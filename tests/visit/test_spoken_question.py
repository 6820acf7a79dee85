"""A numbered question by voice and by keyboard, with fake ports."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pytest

from handsfree.language.interpreter import Language
from handsfree.recognition.ears import FakeEars
from handsfree.recognition.port import EarEvent, QuietPeriod, SourceFault, Utterance
from handsfree.synthesis.port import Spoken
from handsfree.visit.spoken_question import SpokenQuestion

ANSWERS = ("yearly service", "complaint call", "daily walk")
SOUND = np.zeros(1600, dtype=np.int16)


class ShownMouth:
    """A mouth that keeps its texts; somebody interrupts it at the text ``cut``."""

    name, why_silent = "fake", None

    def __init__(self, cut: str = "") -> None:
        self.said: list[str] = []
        self._cut = cut

    def say(self, text: str, *, whole: bool = False) -> Spoken:
        self.said.append(text)
        return Spoken(0.0, aloud=True, cut=text == self._cut)


def said(text: str) -> Utterance:
    return Utterance(text, start_s=0.0, end_s=1.0, samples=SOUND)


def asked(
    language: Language, heard: Sequence[EarEvent], cut: str = ""
) -> tuple[int | None, ShownMouth, list[tuple[str, str]]]:
    mouth, shown = ShownMouth(cut), []
    question = SpokenQuestion(
        FakeEars(heard),
        mouth,  # type: ignore[arg-type]
        language,
        lambda who, text: shown.append((who, text)),
    )
    return question.ask("Which visit?", ANSWERS), mouth, shown


@pytest.mark.parametrize(("typed", "index"), [("2", 1), ("two", 1), ("1", 0), ("3", 2)])
def test_a_typed_number_counts_at_once(language, typed, index):
    chosen, mouth, shown = asked(language, [Utterance(typed)])
    assert chosen == index
    assert mouth.said[:2] == ["Which visit?", "one: yearly service."]
    assert shown[-1] == ("who_heard", typed)


def test_a_number_that_was_heard_is_read_back_and_affirmed(language):
    chosen, mouth, _ = asked(language, [said("two"), said("affirm")])
    assert chosen == 1
    assert mouth.said[-1] == "Number two: complaint call. Yes or no?"


def test_no_takes_it_back_and_asks_again(language):
    heard = [said("two"), said("negative"), said("three"), said("yes")]
    chosen, mouth, _ = asked(language, heard)
    assert chosen == 2
    assert mouth.said.count("Which visit?") == 2


@pytest.mark.parametrize("other", ["four", "zero", "left leaf", "two seconds", "2.5", "hello"])
def test_what_is_no_number_of_the_list_gets_a_hint(language, other):
    chosen, mouth, _ = asked(language, [Utterance(other), Utterance("1")])
    assert chosen == 0
    assert mouth.said[-1] == "Say a number from one to three, or say again."


def test_correct_is_no_assent_and_the_answer_is_asked_about_again(language):
    """'Incorrect' with its first sound lost is 'correct', so it neither counts nor takes back."""
    chosen, mouth, _ = asked(language, [said("two"), said("correct"), said("affirm")])
    assert chosen == 1
    assert mouth.said[-2:] == ["Number two: complaint call. Yes or no?"] * 2


def test_a_heard_number_beyond_the_list_is_no_name(language):
    """'Three' where one name is offered is not a technician called 3; spelled letters are."""
    mouth = ShownMouth()
    ears = FakeEars([said("three"), said("november three"), said("affirm")])
    question = SpokenQuestion(ears, mouth, language, lambda who, text: None)  # type: ignore[arg-type]
    assert question.ask("Who?", ["R. Almeda"], refuse=lambda text: "") == "N3"
    hint, read_back = mouth.said[-2:]
    assert hint.startswith("Say one, or say again.") and read_back.startswith("november three")


def test_a_heard_number_is_a_name_where_nothing_is_offered(language):
    ears = FakeEars([said("three"), said("affirm")])
    question = SpokenQuestion(ears, ShownMouth(), language, lambda who, text: None)  # type: ignore[arg-type]
    assert question.ask("Which door?", refuse=lambda text: "") == "3"


def test_affirm_without_a_number_chooses_nothing(language):
    chosen, _, _ = asked(language, [said("affirm"), said("yes")])
    assert chosen is None


def test_say_again_reads_the_list_again_and_stop_ends(language):
    chosen, mouth, _ = asked(language, [said("say again"), said("stop"), Utterance("1")])
    assert chosen is None
    assert mouth.said.count("three: daily walk.") == 2


def test_somebody_who_interrupts_is_heard_at_once_and_a_lost_microphone_is_told(language):
    heard = [QuietPeriod(5.0), SourceFault("microphone_lost"), Utterance("3")]
    chosen, mouth, shown = asked(language, heard, cut="one: yearly service.")
    assert chosen == 2
    assert mouth.said[:2] == ["Which visit?", "one: yearly service."]
    assert ("who_tool", "three: daily walk.") in shown  # it is shown all the same
    assert mouth.said[2] == language.wording.say("fault_microphone_lost")
