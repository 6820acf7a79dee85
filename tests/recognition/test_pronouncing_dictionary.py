from __future__ import annotations

import sys

import pytest

from handsfree.errors import ModelError
from handsfree.recognition.pronouncing_dictionary import load_dictionary, parse_dictionary


def test_further_pronunciations_stand_beside_the_first_without_stress() -> None:
    text = "tomato T AH0 M EY1 T OW2\nTomato(2) T AH0 M AA1 T OW2\n\nodd 0\nbare\n"
    assert parse_dictionary(text) == {
        "tomato": (("T", "AH", "M", "EY", "T", "OW"), ("T", "AH", "M", "AA", "T", "OW"))
    }


@pytest.mark.slow
def test_the_dictionary_knows_the_words_of_the_trade() -> None:
    pytest.importorskip("pocketsphinx")
    words = load_dictionary()
    assert words["hinge"] == (("HH", "IH", "N", "JH"),)
    assert words["motor"] == (("M", "OW", "T", "ER"),)
    assert len(words) > 100_000


def test_a_machine_without_the_package_says_what_to_install(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setitem(sys.modules, "pocketsphinx", None)
    with pytest.raises(ModelError, match="pip install pocketsphinx"):
        load_dictionary()
