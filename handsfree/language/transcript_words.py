"""The text of a general recognizer as the grammar's words: '1,250 mm.' is 'one two five zero ...'.

Such a recognizer writes as people write: digits, commas, units. Nothing is guessed: what is no
sentence of the grammar after this stays none.
"""

from __future__ import annotations

import re

from handsfree.language.interpreter import Language
from handsfree.language.typed_text import spoken_form

_THOUSANDS = re.compile(r"\b(\d{1,3}),(\d{3})\b")
_SPELLED = re.compile(r"(?<![\d.,])\d{1,2}(?:[ -]\d{1,2})+(?=\.\d|\b)(?!,\d|[.]\d+[.,]\d)")
"""Numbers that were written apart because they were said apart: '1-2-5', '3 13', '8 2.5'."""
_RUN_ON = re.compile(r"(?<=[^\W\d])\.(?=\d)|(?<=\d)-(?=[^\W\d])")
"""A number that was written without a space to the word beside it: 'leaf.74', '3-second'."""
_NOT_WORDS = re.compile(r"[^\w\s.,:;/%$€°'\"#+&*=<>-]")


def in_words(language: Language, text: str) -> str:
    """The words of a text, as the grammar spells them where it knows them.

    '' where a number in it cannot be said, as '6 5.2'.

    A comma between thousands is one: no general recognizer writes a decimal so. Where the text
    is no sentence, the words of the language's [misheard] table are put right, all at once, and
    that is taken where it makes a sentence.
    """
    plain = _SPELLED.sub(lambda found: re.sub("[ -]", "", found[0]), text.strip())
    plain = _THOUSANDS.sub(r"\1\2", plain)
    plain = _RUN_ON.sub(lambda found: found[0].replace("-", " ").replace(".", " ."), plain)
    words = " ".join(spoken_form(_NOT_WORDS.sub(" ", plain), language.wording))
    if any(map(str.isdigit, words)):
        return ""
    if language.parse(words) is not None:
        return words
    mended = _mended(language, words)
    return mended if language.parse(mended) is not None else words


def _mended(language: Language, words: str) -> str:
    padded = f" {words} "
    for wrong, right in language.wording.names["misheard"].items():
        padded = padded.replace(f" {wrong} ", f" {right} ")
    return " ".join(padded.split())
