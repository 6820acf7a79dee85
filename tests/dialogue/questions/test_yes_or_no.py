"""Every question that ends in 'Yes or no?' takes yes and no, also at a step that asks yes or no."""

from __future__ import annotations

import pytest

from .places import LEFT_OPENING

ASKED = (
    "i found the left arm loose",
    "left operator serial alpha seven four two",
    "it shows delta seven",
)


@pytest.mark.parametrize("line", ASKED)
@pytest.mark.parametrize("at", ["swings-free:left leaf", LEFT_OPENING])
@pytest.mark.parametrize("word", ["yes", "no"])
def test_it_takes_yes_and_no(talk, line, at, word):
    talk.go_to(at)
    assert talk.says(line)[-1].endswith("Yes or no?")
    said = talk.says(word)
    assert talk.state.pending is None
    assert (said[0] == "Dropped.") == (word == "no")


@pytest.mark.parametrize(("word", "told"), [("yes", "Withdrawn."), ("no", "Not withdrawn.")])
def test_a_withdrawal_takes_yes_and_no(talk, word, told):
    talk.go_to(LEFT_OPENING)
    talk.says("six point two", "affirm")
    assert talk.says("withdraw that")[-1].endswith("Yes or no?")
    assert talk.says(word)[0] == told
