"""The source of a pronunciation."""

import pytest

from handsfree.recognition.lexicon import Lexicon
from handsfree.recognition.phones import ARPABET
from handsfree.recognition.speech_model import SHIPPED
from handsfree.training.pronunciation import Pronouncer

OURS = Lexicon({"latch": (("L", "AE", "CH"),)})
THEIRS = {"latch": (("L", "AA", "CH"),), "violin": (("V", "AY"), ("V", "IH"))}


def spelled(ways: list[list[int]]) -> list[str]:
    return [" ".join(ARPABET[number - 1] for number in way) for way in ways]


def test_the_lexicon_of_the_model_goes_before_the_dictionary():
    pronouncer = Pronouncer(OURS, THEIRS)
    assert spelled(pronouncer.phones("latch")) == ["L AE CH"]
    assert spelled(pronouncer.phones("violin")) == ["V AY", "V IH"]


def test_a_word_in_neither_is_not_known():
    pronouncer = Pronouncer(OURS, THEIRS)
    assert not pronouncer.knows("xyzzy")
    with pytest.raises(KeyError):
        pronouncer.phones("xyzzy")


def test_the_real_ones_know_english():
    pytest.importorskip("pocketsphinx", reason="comes with the train extra")
    pronouncer = Pronouncer.load(SHIPPED / "lexicon.txt")
    assert pronouncer.knows("violin")
    assert spelled(pronouncer.phones("seven"))[0] == "S EH V AH N"
