from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from handsfree.errors import ModelError
from handsfree.grammar.automaton import Automaton
from handsfree.grammar.language import Language
from handsfree.speech.fst import Fst
from handsfree.speech.graph import Graph, compile_graph
from handsfree.speech.lexicon import parse_lexicon, read_lexicon
from handsfree.speech.model import SHIPPED, SpeechModel
from handsfree.speech.recogniser import VoskRecogniser

from .conftest import Synthesise

LEXICON = parse_lexicon("left L EH F T\nright R AY T\nleaf L IY F\nnote N OW T\n")
# left leaf | right leaf | note
AUTOMATON = Automaton(
    start=0,
    arcs=((0, "left", 1), (0, "note", 2), (0, "right", 1), (1, "leaf", 2)),
    finals=frozenset({2}),
)


def sentences(graph: Graph) -> set[tuple[str, ...]]:
    """Every word sequence of at most three words that the graph can put out."""
    fst: Fst = graph.fst
    found, seen = set(), set()
    waiting: list[tuple[int, tuple[int, ...]]] = [(0, ())]
    while waiting:
        state, said = waiting.pop()
        if (state, said) in seen or len(said) > 3:
            continue
        seen.add((state, said))
        if state in fst.finals:
            found.add(tuple(graph.words[label] for label in said))
        for arc in fst.arcs[state]:
            waiting.append((arc.target, (*said, arc.output) if arc.output else said))
    return found


def test_the_graph_says_the_sentences_and_other_speech_alone_or_after_note() -> None:
    said = sentences(compile_graph(AUTOMATON, LEXICON))
    in_words = {
        tuple("[unk]" if word.startswith("[") else word for word in sentence) for sentence in said
    }
    other = [("[unk]",) * count for count in range(4)]
    assert in_words == {
        ("left", "leaf"),
        ("right", "leaf"),
        *other,
        *(("note", *sounds) for sounds in other[:3]),
    }


def test_a_word_without_pronunciation_is_named() -> None:
    with pytest.raises(ModelError, match="no pronunciation for: left, note, right"):
        compile_graph(AUTOMATON, parse_lexicon("leaf L IY F"))


def test_the_same_grammar_gives_the_same_bytes_and_they_are_the_shipped_ones(
    tmp_path: Path, language: Language
) -> None:
    graph = compile_graph(language.automaton(), read_lexicon(SHIPPED / "lexicon.txt"))
    graph.write(tmp_path)
    for name in ("HCLG.fst", "words.txt", "phones/word_boundary.int"):
        assert (tmp_path / name).read_bytes() == (SHIPPED / "graph" / name).read_bytes(), (
            f"graph/{name} is not what the grammar gives: run handsfree model build"
        )


def test_vosk_hears_only_what_a_small_grammar_has(tmp_path: Path, synthesise: Synthesise) -> None:
    folder = tmp_path / "small"
    shutil.copytree(SHIPPED, folder)
    compile_graph(AUTOMATON, read_lexicon(SHIPPED / "lexicon.txt")).write(folder / "graph")
    recogniser = VoskRecogniser(SpeechModel.load(folder))
    assert recogniser.recognise(synthesise("right leaf")).text == "right leaf"
    assert recogniser.recognise(synthesise("left leaf")).text == "left leaf"
    assert "right" not in recogniser.recognise(synthesise("the weather is fine today")).text
