"""The table of door features: its words, its conditions, and invalid tables."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from handsfree.errors import HandsfreeError
from handsfree.job.door_feature import (
    ANSWERS,
    FEATURES,
    NAMED_CONDITIONS,
    answer_words,
    feature_words,
    line_of,
    read_features,
)
from handsfree.job.reading import LEAF_SUBJECT
from handsfree.language.interpreter import Language
from handsfree.language.meaning import Choice, FactSaid
from handsfree.language.wording import languages
from handsfree.toml_source import TomlSource


def sentences(language: Language, rule: str) -> Iterator[tuple[str, ...]]:
    """Every sentence of a rule without unlimited repetition."""
    automaton = language.automaton(rule)
    waiting: list[tuple[int, tuple[str, ...]]] = [(automaton.start, ())]
    while waiting:
        state, words = waiting.pop()
        if state in automaton.finals:
            yield words
        waiting += [(to, (*words, word)) for at, word, to in automaton.arcs if at == state]


SOUND = """
[value.red]
en = { name = "red", say = ["red"] }
[value.blue]
en = { name = "blue", say = ["blue"] }
[feature.color]
of = "opening"
values = ["red", "blue"]
en.name = "color"
en.ask = "Which color is it?"
en.state = ["the color is"]
[condition.warm]
feature = "color"
values = ["red"]
"""


def read(text: str) -> None:
    read_features(TomlSource(text, "features.toml", HandsfreeError))


@pytest.mark.parametrize(
    ("old", "new", "line", "reason"),
    [
        ('"red", "blue"]', '"red", "green"]', 8, "no [value.green]"),
        ('values = ["red"]', 'values = ["pink"]', 12, "does not fit the feature"),
        ('of = "opening"', 'of = "motor"', 7, "of: "),
        ('en.state = ["the color is"]\n', "", 6, "any other has state"),
        ('of = "opening"\n', 'of = "opening"\nunknown = "pink"\n', 8, "not one of its values"),
    ],
)
def test_a_wrong_table_is_named_with_its_line(old, new, line, reason):
    read(SOUND)
    with pytest.raises(HandsfreeError, match=r"features\.toml") as refused:
        read(SOUND.replace(old, new))
    assert refused.value.line == line
    assert reason in refused.value.message


def test_a_language_without_words_is_named_with_its_table():
    with pytest.raises(HandsfreeError, match="no words of the language 'fr'") as refused:
        feature_words("lock", "fr")
    assert refused.value.line == line_of("feature.lock") > 1
    with pytest.raises(HandsfreeError, match=r"value\.latch"):
        answer_words("latch", "fr")


@pytest.mark.parametrize("code", languages())
def test_every_answer_is_understood_by_its_name(code):
    language = Language.load(language=code)
    for answer in ANSWERS:
        meaning = language.parse(answer_words(answer, code).name)
        assert meaning == Choice(value=answer), answer


@pytest.mark.slow
@pytest.mark.parametrize("code", languages())
def test_every_value_of_every_feature_can_be_stated(code):
    """Each statement is a sentence of the grammar whose meaning is the fact, and nothing else."""
    language = Language.load(language=code)
    stated = set()
    for words in sentences(language, "features.feature_fact"):
        (meaning,) = language.meanings(words)
        assert isinstance(meaning, FactSaid)
        of = "opening" if FEATURES[meaning.name].of == "opening" else LEAF_SUBJECT.values()
        assert meaning.subject in of
        stated.add((meaning.name, meaning.value))
    assert stated == {(name, value) for name, each in FEATURES.items() for value in each.values}


def test_every_condition_is_of_the_opening():
    for condition in NAMED_CONDITIONS.values():
        assert FEATURES[condition.feature].of == "opening"
        assert condition.values < set(FEATURES[condition.feature].values)
