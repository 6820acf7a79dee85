"""Loops: a question comes back although every word was understood; reported, with a way out."""

from __future__ import annotations

import pytest

from handsfree.dialogue import state_machine
from handsfree.dialogue.questions.readings import ReadingsQuestion
from handsfree.dialogue.state import Heard
from handsfree.journal import events as ev
from handsfree.language.interpreter import Language
from handsfree.language.meaning import Choice, Word
from handsfree.language.wording import languages

HAND = "motor-hand:motor one"
OPENING = "opening-time:left leaf"
COMES_BACK = "The same question comes back. I heard: "


def told(texts: list[str]) -> list[str]:
    """The report of a loop, and what is spoken after it."""
    starts = [n for n, text in enumerate(texts) if text.startswith(COMES_BACK)]
    return texts[starts[0] :] if starts else []


def offers(texts: list[str]) -> bool:
    """True if another way to say it is offered."""
    return any(text.startswith("You can also say ") for text in texts)


def missed(talk, snr_db: float | None = None) -> list[str]:
    """The tool's words after an utterance that was not understood."""
    heard = Heard(text="[unk]", meaning=None, snr_db=snr_db)
    return talk._take(state_machine.answer(talk.state, heard, 0.0))


def test_the_third_why_at_one_question_is_told_with_a_way_out(talk):
    talk.go_to(HAND)
    assert not told(talk.says("why")) and not told(talk.says("why"))
    spoken = talk.says("why")
    assert spoken[0] == "The controller must know the hand."  # it is answered all the same
    assert told(spoken) == [
        f"{COMES_BACK}why, why, why.",
        "Say left hand or right hand.",
        "You can also say on the left or on the right, or type it on the keyboard, or skip.",
    ]


def test_it_is_told_once(talk):
    talk.go_to(HAND)
    talk.says("why", "why", "why")
    for _ in range(9):
        assert not told(talk.says("why"))


def test_another_way_is_offered_again_after_as_many_rounds(talk):
    talk.go_to(HAND)
    offered = [nth for nth in range(1, 13) if offers(talk.says("why"))]
    assert offered == [3, 6, 9, 12]


def test_whoever_is_never_understood_at_a_caution_is_offered_another_word(talk):
    """In a rehearsed visit a voice said 'clear' 128 times, and the tool asked 84 times to type
    it.
    """
    talk.says("done")
    offered = [nth for nth in range(1, 13) if offers(missed(talk))]
    assert offered == [3, 6, 9, 12]
    assert not talk.of(ev.CautionAcknowledged)
    talk.says("it is safe")
    assert [each.word for each in talk.of(ev.CautionAcknowledged)] == ["clear"]


def test_noise_and_questions_between_the_misses_put_no_offer_off_for_ever(talk):
    """In noise the level is reported; an answered question starts the count of misses over."""
    talk.says("done")
    offered = 0
    for _ in range(4):
        talk.says("why")
        offered += any(offers(missed(talk, 8.0)) for _ in range(3))
    assert offered >= 3


def test_different_questions_are_those_of_somebody_who_wants_to_know(talk):
    talk.go_to(OPENING)
    asked = ("why", "what is the limit", "where am i", "what is left", "help", "say again")
    for question in (*asked, *asked):
        assert not told(talk.says(question))


def test_answers_that_do_not_fit_are_counted_together(talk):
    talk.go_to(HAND)
    assert not told(talk.says("push")) and not told(talk.says("both"))
    assert told(talk.says("pull"))[0] == f"{COMES_BACK}push, both, pull."


def test_what_is_not_understood_between_them_changes_nothing(talk):
    talk.go_to(HAND)
    for _ in range(2):
        talk.says("why")
        talk.says("nice weather")
    assert told(talk.says("why"))


def test_values_that_are_refused_are_told_and_digits_are_asked_for(talk):
    talk.go_to(OPENING)
    assert not told(talk.says("five", "negative", "six", "negative"))
    assert told(talk.says("five", "negative")) == [
        f"{COMES_BACK}five, six, five.",
        "Say the opening time as a number, or skip.",
        "Spell the number digit by digit, or type it on the keyboard.",
    ]
    assert not told(talk.says("nine", "negative"))


def test_a_readback_that_is_not_answered_offers_other_words(talk):
    talk.go_to(OPENING)
    talk.says("six point two")
    spoken = talk.says("where am i", "where am i", "where am i")
    assert told(spoken)[1:] == ["Say yes or no, or type it on the keyboard."]
    assert isinstance(talk.state.pending, ReadingsQuestion)
    assert talk.says("affirm")[0] == "Pass."


def test_with_something_gained_it_begins_anew(talk):
    talk.go_to(HAND)
    talk.says("why", "why", "left hand", "affirm")
    assert not told(talk.says("why", "why"))
    assert told(talk.says("why"))


def test_notes_and_a_slower_voice_are_no_circle(talk):
    talk.go_to(HAND)
    for _ in range(5):
        assert not told(talk.says("slower"))
        assert not told(talk.says("note", "the hall is dark"))


def test_a_caution_is_told_in_its_own_word_and_never_skipped(talk):
    spoken = talk.says("done", "done", "done", "done")
    assert talk.state.task.step.caution
    assert told(spoken) == [
        f"{COMES_BACK}done, done, done.",
        "Say clear when it is clear.",
        "You can also say it is safe, or type it on the keyboard.",
    ]
    assert not talk.of(ev.CautionAcknowledged)


def test_nothing_is_ever_filed_by_it(talk):
    talk.go_to(HAND)
    before = talk.state.progress
    talk.says(*["why"] * 6, *["right leaf"] * 6)
    assert talk.state.progress == before


def test_a_run_of_the_clock_is_no_round(talk):
    talk.go_to(OPENING)
    state = talk.state.model_copy(update={"times_by_ear": True})
    talk.state = state
    for _ in range(4):
        assert not told(talk.says("start the clock"))
        talk._take(
            state_machine.answer(
                talk.state, state_machine.CycleHeard(marks=(), cancelled=True), 0.0
            )
        )


def test_a_third_miss_offers_other_words_for_a_choice(talk):
    talk.go_to(HAND)
    spoken: list[str] = []
    for _ in range(3):
        spoken = talk._take(state_machine.answer(talk.state, Heard(text="", meaning=None), 0.0))
    assert spoken[0].startswith("You can also say on the left or on the right")


@pytest.mark.parametrize("name", languages())
def test_another_word_means_the_same(name):
    language = Language.load(language=name)
    others = language.wording.names["another"]
    assert others
    for said, other in others.items():
        one, another = language.parse(said), language.parse(other)
        assert said != other
        if isinstance(one, Word):
            assert one == another, (said, other)
            continue
        assert isinstance(one, Choice) and isinstance(another, Choice), (said, other)
        assert one.value == another.value
        assert another.noun in (None, one.noun)
