"""Spanish is pronounced as it is spelled."""

import pytest

from handsfree.language.interpreter import Language
from handsfree.recognition import spanish_pronunciation
from handsfree.recognition.phones import ARPABET

# The sounds behind the spelling: Real Academia Espanola, Ortografia (2010), chapter on the
# graphemes, with the Latin American s for z and soft c (from memory).
SAID = {
    "hoja": "OW HH AA",
    "izquierda": "IY S K Y EH R D AA",
    "cinco": "S IY N K OW",
    "quinientos": "K IY N Y EH N T OW S",
    "señal": "S EH N Y AA L",
    "cierre": "S Y EH ER EH",
    "retire": "ER EH T IY R EH",
    "pulsador": "P UW L S AA D OW R",
    "energía": "EH N EH R HH IY AA",
    "seguir": "S EH G IY R",
    "ángulo": "AA N G UW L OW",
    "reloj": "ER EH L OW HH",
    "muy": "M UW IY",
    "ya": "Y AA",
    "llave": "Y AA B EH",
    "hecho": "EH CH OW",
    "vergüenza": "B EH R G W EH N S AA",
    "enrejado": "EH N ER EH HH AA D OW",
}


@pytest.mark.parametrize(("word", "phones"), SAID.items())
def test_a_word_is_said_as_it_is_spelled(word: str, phones: str):
    assert spanish_pronunciation.pronounce(word) == tuple(phones.split())


def test_every_word_of_the_spanish_grammar_can_be_said():
    for word in Language.load(language="es").words():
        assert spanish_pronunciation.pronounce(word) and set(
            spanish_pronunciation.pronounce(word)
        ) <= set(ARPABET)


@pytest.mark.parametrize("word", ["", "kø", "6", "psst", "e-mail"])
def test_what_is_no_spanish_word_is_refused(word: str):
    assert not spanish_pronunciation.knows(word)
    with pytest.raises(ValueError, match="Spanish letters"):
        spanish_pronunciation.pronounce(word)
