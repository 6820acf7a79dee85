"""Pronunciations of English words from the CMU Pronouncing Dictionary.

They come from the package pocketsphinx, which contains a US English edition of 126,000 words (BSD
license). handsfree does not require it; it is needed to rebuild a graph with new words or to train
a model.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from handsfree.errors import ModelError
from handsfree.language.wording import ENGLISH
from handsfree.recognition import spanish_pronunciation
from handsfree.recognition.lexicon import Pronunciation
from handsfree.recognition.phones import ARPABET

PACKAGE = "pocketsphinx"
_FILE = "en-us/cmudict-en-us.dict"


def load_dictionary() -> dict[str, tuple[Pronunciation, ...]]:
    """Loads every word in lower case with its pronunciations, the most common first.

    Phones are those of recognition/phones.py, without stress; a pronunciation with any other phone
    is left out. Raises ModelError if the package is not installed.
    """
    try:
        import pocketsphinx
    except ImportError as error:
        raise ModelError(
            f"the pronouncing dictionary needs the package {PACKAGE}, which is not installed",
            way_out=f"pip install {PACKAGE}",
        ) from error
    path = Path(pocketsphinx.get_model_path(_FILE))
    try:
        return parse_dictionary(path.read_text(encoding="utf-8"))
    except OSError as error:
        raise ModelError(
            "the pronouncing dictionary cannot be read",
            file=path,
            way_out=f"install the package {PACKAGE} again",
        ) from error


def look_up(
    words: Sequence[str], lexicon: Path, language: str = ENGLISH
) -> dict[str, tuple[Pronunciation, ...]]:
    """Finds pronunciations for words that a lexicon file lacks; Spanish words follow their
    spelling.

    Raises ModelError naming the unknown words, and the line to add.
    """
    if language == "es":
        return {word: (spanish_pronunciation.pronounce(word),) for word in words}
    if not words:
        return {}
    try:
        dictionary, more = load_dictionary(), ""
    except ModelError as error:
        dictionary, more = {}, f", or install a dictionary that may have it: {error.way_out}"
    if unknown := [word for word in words if word not in dictionary]:
        raise ModelError(
            f"no pronunciation for: {', '.join(unknown)}",
            file=lexicon,
            way_out=f"add a line with the word and its ARPAbet phones for each, as "
            f"'hinge HH IH N JH'{more}",
        )
    return {word: dictionary[word] for word in words}


def parse_dictionary(text: str) -> dict[str, tuple[Pronunciation, ...]]:
    """Parses lines of 'word PHONE ...'; alternative pronunciations are written 'word(2)'."""
    known = frozenset(ARPABET)
    found: dict[str, list[Pronunciation]] = {}
    for line in text.splitlines():
        word, *phones = line.split() or [""]
        # A phone may include its stress: AH0.
        pronunciation = tuple(phone.rstrip("012") for phone in phones)
        if pronunciation and known.issuperset(pronunciation):
            found.setdefault(word.partition("(")[0].lower(), []).append(pronunciation)
    return {word: tuple(dict.fromkeys(entries)) for word, entries in found.items()}
