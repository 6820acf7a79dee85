"""Converts a general recognizer's text to the grammar's words: '1,250 mm.' is 'one two five ...'.

A general recognizer writes as people do, with digits, commas and units. Nothing is guessed: text
that is still not a sentence of the grammar is left alone.
"""

from __future__ import annotations

import re

from handsfree.language.interpreter import Language
from handsfree.language.typed_text import spoken_form

_THOUSANDS = re.compile(r"\b(\d{1,3}),(\d{3})\b")
_SPELLED = re.compile(r"(?<![\d.,])\d{1,2}(?:[ -]\d{1,2})+(?=\.\d|\b)(?!,\d|[.]\d+[.,]\d)")
"""Numbers written separately because they were spoken separately: '1-2-5', '3 13', '8 2.5'."""
_RUN_ON = re.compile(r"(?<=[^\W\d])\.(?=\d)|(?<=\d)-(?=[^\W\d])")
"""A number joined to the next word without a space: 'leaf.74', '3-second'."""
_NOT_WORDS = re.compile(r"[^\w\s.,:;/%$€°'\"#+&*=<>-]")


def transcript_words(language: Language, text: str) -> str:
    """Returns the words of a text in the grammar's spelling, as far as it knows them.

    Empty if the text contains a number that cannot be spoken, such as '6 5.2'.

    A comma between thousands is removed: no general recognizer writes a decimal that way. If the
    text is not a sentence, all words of the language's [misheard] table are corrected, and the
    result is used if it is a sentence.
    """
    plain = _SPELLED.sub(lambda found: re.sub("[ -]", "", found[0]), text.strip())
    plain = _THOUSANDS.sub(r"\1\2", plain)
    plain = _RUN_ON.sub(lambda found: found[0].replace("-", " ").replace(".", " ."), plain)
    words = " ".join(spoken_form(_NOT_WORDS.sub(" ", plain), language.wording))
    if any(map(str.isdigit, words)):
        return ""
    if language.parse(words) is not None:
        return words
    corrected = _corrected(language, words)
    return corrected if language.parse(corrected) is not None else words


def _corrected(language: Language, words: str) -> str:
    padded = f" {words} "
    for wrong, right in language.wording.names["misheard"].items():
        padded = padded.replace(f" {wrong} ", f" {right} ")
    return " ".join(padded.split())
