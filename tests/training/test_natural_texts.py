"""The natural voices' texts: from the grammar, and a third from outside it."""

from itertools import islice
from random import Random

import pytest

from handsfree.language.interpreter import Language
from handsfree.training.natural_texts import natural_texts, short_sentences, trade_prose

GENERAL = ["the old lamp stood in a corner of the library", "we walked home in the rain"]


@pytest.mark.parametrize("name", ["en", "es"])
def test_a_third_is_outside_the_grammar_and_every_fixed_word_is_there(name: str):
    language = Language.load(language=name)
    texts = list(islice(natural_texts(language, GENERAL, ["lamp"], (), Random(4)), 6000))
    inside = sum(language.parse(t) is not None or language.mark(t) is not None for t in texts)
    assert 0.60 < inside / len(texts) < 0.75
    fixed = {text for text in texts if language.parse(text) is not None}
    assert set(short_sentences(language.grammar, "words.affirm")) <= fixed


def test_no_text_has_a_word_that_is_left_out():
    language = Language.load()
    without = ("point", "lamp")
    for text in islice(natural_texts(language, GENERAL, ["lamp"], without, Random(5)), 2000):
        assert not set(without) & set(text.split())


def test_the_short_sentences_of_a_rule_are_all_of_it():
    language = Language.load()
    refusals = short_sentences(language.grammar, "words.negative")
    assert {"negative", "no", "not correct"} <= set(refusals)
    assert all(language.parse(text).kind == "negative" for text in refusals)


@pytest.mark.parametrize(("name", "word"), [("en", "leaf"), ("es", "hoja")])
def test_trade_prose_is_in_its_language_and_without_digits(name: str, word: str):
    prose = trade_prose(name)
    assert len(prose) > 500 and any(word in text.split() for text in prose)
    assert not any(letter.isdigit() or letter in "{}-" for text in prose for letter in text)
