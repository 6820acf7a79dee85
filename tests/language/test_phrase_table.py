"""The phrase table equals the grammar: it contains every sentence and no other."""

from __future__ import annotations

from collections import deque
from random import Random

import pytest

from handsfree.errors import WordingError
from handsfree.language.automaton import Automaton, build_automaton
from handsfree.language.interpreter import Language
from handsfree.language.phrase_table import Phrase, phrases
from handsfree.language.phrase_texts import phrase_texts
from handsfree.language.sentence_sampler import sample
from handsfree.language.syntax_tree import Token, walk
from handsfree.language.tag_interpreter import KINDS, MARKS
from tests.language.people import grammar_of, read, rule

LANGUAGES = ["en", "es"]
SAMPLES = 25


def table(code: str) -> tuple[Language, tuple[Phrase, ...]]:
    language = Language.load(language=code)
    return language, phrases(language, phrase_texts(code))


def numbered(automaton: Automaton) -> tuple[set[tuple[int, str, int]], set[int]]:
    """A minimal automaton with its states numbered as they are first met: the same for equals."""
    arcs: dict[int, list[tuple[str, int]]] = {}
    for source, word, target in automaton.arcs:
        arcs.setdefault(source, []).append((word, target))
    numbers, waiting = {automaton.start: 0}, deque([automaton.start])
    while waiting:
        for _, target in sorted(arcs.get(waiting.popleft(), [])):
            if target not in numbers:
                numbers[target] = len(numbers)
                waiting.append(target)
    renamed = {(numbers[source], word, numbers[end]) for source, word, end in automaton.arcs}
    return renamed, {numbers[state] for state in automaton.finals}


@pytest.mark.slow
@pytest.mark.parametrize("code", LANGUAGES)
def test_the_rows_alone_are_the_whole_grammar(code):
    language, rows = table(code)
    alone = build_automaton(grammar_of(rows), "utterance")
    assert numbered(alone) == numbered(language.automaton("utterance"))


@pytest.mark.slow
@pytest.mark.parametrize("code", LANGUAGES)
def test_every_sentence_of_a_row_means_what_its_row_says(code):
    language, rows = table(code)
    grammar, rng = grammar_of(rows), Random(5)
    for row in rows:
        if row.kind is None:
            continue
        grammar.rules["table.row"] = rule("row", [read(row.said)])
        for _ in range(SAMPLES):
            words = sample(grammar, "row", rng)
            (meaning,) = language.meanings(words)
            assert meaning.kind == row.kind, " ".join(words)
            name, _, value = (row.about or "").partition("=")
            assert name in ("", "kind") or getattr(meaning, name) == value


@pytest.mark.parametrize("code", LANGUAGES)
def test_every_word_and_every_kind_occurs(code):
    language, rows = table(code)
    nodes = (node for row in rows for node in walk(read(row.said)))
    assert {node.word for node in nodes if isinstance(node, Token)} == language.words()
    assert {row.kind for row in rows} - {None} == KINDS


@pytest.mark.parametrize("code", LANGUAGES)
def test_every_mark_of_the_clock_is_a_mark(code):
    language, rows = table(code)
    name = phrase_texts(code).part["handsfree.mark"].name
    marks = [row for row in rows if row.part == name]
    assert {row.about for row in marks} == {f"mark={mark}" for mark in MARKS}
    grammar, rng = grammar_of(rows), Random(6)
    for row in marks:
        grammar.rules["table.row"] = rule("row", [read(row.said)])
        for _ in range(SAMPLES):
            said = " ".join(sample(grammar, "row", rng))
            # Where it names its leaf, that comes before it: 'left go'.
            mark = (language.mark(said) or "").split()[-1]
            assert f"mark={mark}" == row.about


@pytest.mark.parametrize("code", LANGUAGES)
def test_every_description_is_of_something_in_the_table(code):
    texts = phrase_texts(code)
    told = {row.about for row in table(code)[1]} | {f"kind={row.kind}" for row in table(code)[1]}
    described = {f"{name}={value}" for name, some in texts.does.items() for value in some}
    assert described - told == set()


def test_a_description_that_is_missing_is_named(language):
    texts = phrase_texts()
    kinds = {kind: does for kind, does in texts.does["kind"].items() if kind != "start_clock"}
    with pytest.raises(WordingError, match="has no entry for 'start_clock'"):
        phrases(language, texts.model_copy(update={"does": {**texts.does, "kind": kinds}}))


def test_a_part_that_is_no_rule_is_named(language):
    texts = phrase_texts()
    part = {"names.nothing": texts.part["names.leaf"]}
    with pytest.raises(WordingError, match=r"<names\.nothing> is not a rule of the grammar"):
        phrases(language, texts.model_copy(update={"part": part}))


def test_two_parts_of_one_name_are_named(language):
    texts = phrase_texts()
    same = texts.part["names.leaf"]
    part = {**texts.part, "names.plate": same}
    with pytest.raises(WordingError, match="two parts are called 'leaf'"):
        phrases(language, texts.model_copy(update={"part": part}))


def test_a_file_that_lacks_a_text_is_named(tmp_path, monkeypatch):
    (tmp_path / "xx").mkdir()
    (tmp_path / "xx" / "phrases.toml").write_text('name = "X"\n', encoding="utf-8")
    monkeypatch.setattr("handsfree.language.phrase_texts.data_folder", lambda _: tmp_path)
    with pytest.raises(WordingError, match="head"):
        phrase_texts("xx")
    with pytest.raises(WordingError, match="no such file"):
        phrase_texts("yy")
