"""Two codes that one sound may have been."""

from __future__ import annotations

from handsfree.dialogue import state_machine
from handsfree.dialogue.questions.code_shown import CodeShownQuestion
from handsfree.dialogue.questions.which_code import WhichCodeQuestion
from handsfree.dialogue.state import Heard
from handsfree.journal.controller_events import CodeShown, EntryEnded
from handsfree.language.meaning import CodeSaid

from ...guided import guided
from ...talk import Talk

QUESTION = WhichCodeQuestion


def ask(talk: Talk) -> None:
    hears(talk, "E42", "E52")


def hears(talk: Talk, code: str, other: str) -> list[str]:
    """One sound that may be either of two codes."""
    heard = Heard(
        text="[unk]", meaning=CodeSaid(code=code), other_code=CodeSaid(code=other), retried=True
    )
    return talk._take(state_machine.answer(talk.state, heard, talk.now_s))


def test_both_are_said_and_neither_counts(talk):
    assert hears(talk, "E42", "E52") == ["I heard echo four two, or echo five two?"]
    assert talk.says("say again") == ["I heard echo four two, or echo five two?"]
    assert talk.of(CodeShown) == []


def test_yes_is_no_answer_to_it(talk):
    ask(talk)
    assert talk.says("yes") == ["I heard echo four two, or echo five two?"]
    assert talk.of(CodeShown) == []


def test_the_one_that_is_said_again_is_read_back_as_any_other(talk):
    ask(talk)
    assert talk.says("it shows echo five two") == ["Echo five two. Yes or no?"]
    assert isinstance(talk.state.pending, CodeShownQuestion)
    talk.says("yes")
    assert talk.of(CodeShown) == [CodeShown(code="E52")]


def test_no_drops_both(talk):
    ask(talk)
    assert talk.says("no")[0] == "Dropped."
    assert talk.state.pending is None and talk.of(CodeShown) == []


def test_even_what_the_guide_expects_is_asked_about_where_another_code_is_as_likely(talk):
    guided(talk)
    talk.says("next")
    assert hears(talk, "D5", "D9") == ["I heard delta five, or delta nine?"]
    assert talk.of(EntryEnded)[-1].entry == "open-up"
    said = talk.says("it shows delta five")
    assert talk.of(EntryEnded)[-1].shown == "D5"
    assert said[0].startswith("Motor one is on the left leaf.")
