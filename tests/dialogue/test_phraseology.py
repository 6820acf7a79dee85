"""The words of the conversation against published phraseology."""

from __future__ import annotations

import difflib
from decimal import Decimal
from itertools import product

import pytest

from handsfree.language.interpreter import Language
from handsfree.language.wording import wording
from handsfree.recognition.lexicon import read_lexicon
from handsfree.recognition.speech_model import SHIPPED

# ICAO Annex 10 vol. II and Doc 9432: words with a fixed meaning (from memory).
ICAO = {
    "affirm": "affirm",
    "negative": "negative",
    "say again": "say_again",
    "disregard": "disregard",
    "stand by": "stand_by",
    "how do you read": "how_do_you_read",
    "read back": "read_back",
}
ASSENT = ("affirm", "affirmative", "yes", "yeah", "yep")
REFUSAL = (
    *("negative", "no", "nope", "doesn't", "wrong", "that is wrong", "incorrect", "not correct"),
    *("bad", "not good", "no good", "not okay", "doesn't work"),
)


@pytest.mark.parametrize(("said", "kind"), ICAO.items())
def test_words_with_a_fixed_meaning_mean_what_they_mean_on_the_radio(
    language: Language, said: str, kind: str
):
    assert language.parse(said).kind == kind


def test_correction_replaces_what_was_said(talk):
    talk.go_to("opening-time:left leaf")
    talk.says("six point two")
    assert talk.says("correction six point three") == [
        "Left leaf, opening time, six point three seconds."
    ]


@pytest.mark.parametrize(
    ("written", "said"),
    [
        # FAA AIM 4-2-8 and 4-2-9 (the rule is seen, these examples are from memory): figures
        # digit by digit, the decimal as 'point'; ICAO Doc 9432 2.4 has the same rule.
        # Whole numbers deviate from it on purpose; test_wording has them.
        ("122.1", "one two two point one"),
        ("126.55", "one two six point five five"),
        ("6.20", "six point two zero"),
    ],
)
def test_a_decimal_is_read_back_digit_by_digit(written: str, said: str):
    assert wording().number(Decimal(written)) == said


def test_niner_is_nine(language: Language):
    """AIM 4-2-8: nine is spoken 'niner'; the tool takes both."""
    assert language.number("one niner point five") == Decimal("19.5")


def test_what_is_read_back_is_checked_and_a_word_of_assent_alone_files_it(talk):
    """ICAO Doc 4444 (seen): safety-related parts are read back, and the readback is checked."""
    talk.go_to("opening-time:left leaf")
    for word in ("done", "next", "clear", "in order", "help"):
        talk.says("six point two", word)
        assert talk.state.progress.job.readings == ()
    talk.says("affirm")
    assert len(talk.state.progress.job.readings) == 1


def test_assent_and_refusal_share_less_than_half_of_their_sounds():
    """The worst confusion there is.

    'Affirmative' shares its ending with 'negative': ICAO cut it to 'affirm' for that (from
    memory). The tool says 'affirm' and takes the longer word from those who use it.
    'Correct' and 'incorrect' are a pair that the language itself forces.
    """
    lexicon = read_lexicon(SHIPPED / "lexicon.txt")
    for yes, no in product(("affirm", "yes"), ("negative", "no", "wrong")):
        one, other = lexicon.of(yes)[0], lexicon.of(no)[0]
        assert difflib.SequenceMatcher(None, one, other).ratio() < 0.5, (yes, no)


@pytest.mark.parametrize("said", ASSENT)
def test_every_word_of_assent_files_a_reading(talk, said: str):
    talk.go_to("opening-time:left leaf")
    talk.says("six point two", said)
    assert len(talk.state.progress.job.readings) == 1


@pytest.mark.parametrize("said", REFUSAL)
def test_no_word_of_refusal_files_a_reading(talk, said: str):
    talk.go_to("opening-time:left leaf")
    talk.says("six point two", said)
    assert talk.state.progress.job.readings == ()


@pytest.mark.parametrize("said", ["correct", "that is correct", "good", "okay", "fine", "works"])
def test_half_of_a_refusal_is_asked_about_and_files_nothing(talk, said: str):
    talk.go_to("opening-time:left leaf")
    talk.says("six point two")
    assert talk.says(said) == ["Say affirm or negative."]
    assert talk.state.progress.job.readings == () and talk.state.pending is not None
    talk.says("affirm")
    assert talk.says(said) == ["Say the hold open time as a number, or skip."]


def test_silence_is_counted_apart_from_misses(talk):
    """W3C VoiceXML 2.1 counts no-input and no-match apart. Ours speaks at the first no-input
    and then stays quiet: a technician on a ladder is silent for minutes (deviation on purpose)."""
    talk.says("nice weather")
    assert talk.is_silent(25) == ["Say done when it is done."]
    assert talk.says("nice weather") == ["Say done when it is done."]
    assert talk.is_silent(25) == ["Say done when it is done."]
    assert talk.is_silent(25) == []
