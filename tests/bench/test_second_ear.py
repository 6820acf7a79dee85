"""The counting rules of the second ear's bench."""

from __future__ import annotations

import pytest

from handsfree.language.interpreter import Language

from .second_ear import Row, count

SAID = "left leaf opening time three point seven"


@pytest.mark.parametrize(
    ("first", "second", "counted"),
    [
        ("left leaf opening time three point seven", "3.7 seconds", {"first_right", "agreed"}),
        ("left leaf opening time three point seven", "3.76", {"first_right", "asked_right"}),
        ("left leaf opening time three point seven", "nonsense", {"first_right", "unclear"}),
        ("left leaf opening time three six", "3.7", {"first_wrong", "asked_wrong", "second_right"}),
        ("left leaf opening time three six", "36", {"first_wrong", "agreed", "agreed_wrong"}),
        ("left leaf opening time three six", "what?", {"first_wrong", "unclear", "unclear_wrong"}),
        ("left leaf", "3.7", {"first_wrong", "unclear", "unclear_wrong"}),
        ("nice weather", "3.7", set()),
    ],
)
def test_an_utterance_is_counted_once_for_what_became_of_it(first, second, counted):
    row, language = Row(), Language.load()
    count(row, language, SAID, language.parse(first), second)
    ones = {name for name in Row.__annotations__ if getattr(row, name) == 1}
    assert ones == counted | {"values"}
    assert row.still_wrong == len(counted & {"agreed_wrong", "unclear_wrong"})
