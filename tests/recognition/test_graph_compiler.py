from __future__ import annotations

import math
import shutil
from pathlib import Path

import pytest

from handsfree.errors import ModelError
from handsfree.language.automaton import Automaton
from handsfree.language.interpreter import Language
from handsfree.recognition.fst import Fst
from handsfree.recognition.graph_compiler import Costs, Graph, compile_graph
from handsfree.recognition.lexicon import parse_lexicon, read_lexicon
from handsfree.recognition.phones import PHONES, SILENCE, enter, stay
from handsfree.recognition.recognizer import VoskRecognizer
from handsfree.recognition.speech_model import SHIPPED, SpeechModel
from tests.speech_fixtures import Synthesize

LEXICON = parse_lexicon("left L EH F T\nright R AY T\nleaf L IY F\nnote N OW T\n")
# left leaf | right leaf | note
AUTOMATON = Automaton(
    start=0,
    arcs=((0, "left", 1), (0, "note", 2), (0, "right", 1), (1, "leaf", 2)),
    finals=frozenset({2}),
)


def sentences(graph: Graph) -> set[tuple[str, ...]]:
    """Every sequence of at most three words in the graph."""
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


@pytest.mark.slow
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


PHONE_OF = {make(name): name for name, _ in PHONES for make in (enter, stay)}


def cost_of(graph: Graph, phones: str) -> dict[tuple[str, ...], float]:
    """The cost of each sentence for a run of network outputs; '-' is the blank."""
    fst, outputs = graph.fst, phones.split()
    best: dict[tuple[int, tuple[str, ...]], float] = {(0, ()): 0.0}
    for output in [*outputs, ""]:
        waiting = list(best.items())
        reached: dict[tuple[int, tuple[str, ...]], float] = {}
        while waiting:
            (state, words), cost = waiting.pop()
            for arc in fst.arcs[state]:
                said = (*words, graph.words[arc.output]) if arc.output else words
                key, more = (arc.target, said), cost + arc.cost
                if not arc.input and more < best.get(key, math.inf):
                    best[key] = more
                    waiting.append((key, more))
                elif arc.input and _sound(arc.input) == output:
                    reached[key] = min(more, reached.get(key, math.inf))
        if output:
            best = reached
    ended = [(words, cost) for (state, words), cost in best.items() if state in fst.finals]
    return {words: min(c for w, c in ended if w == words) for words, _ in ended}


def _sound(transition: int) -> str:
    name = PHONE_OF[transition].split("_")[0]
    return "-" if name == SILENCE else name


def test_two_phones_that_are_alike_cost_something_without_the_blank_between_them() -> None:
    """CTC (Graves et al. 2006: memory) writes one label twice only with a blank between, and the
    network has learned so: 'forty newtons' and 'fourteen newtons' differ in nothing else.
    """
    lexicon = parse_lexicon("forty F T IY\nfourteen F T IY N\nnewtons N UW Z\n")
    arcs = ((0, "forty", 1), (0, "fourteen", 1), (1, "newtons", 2))
    graph = compile_graph(Automaton(start=0, arcs=arcs, finals=frozenset({2})), lexicon)
    one, two = ("forty", "newtons"), ("fourteen", "newtons")
    merged = cost_of(graph, "F T IY N N UW Z")
    assert merged[two] - merged[one] == pytest.approx(Costs().merged) and Costs().merged > 0
    apart = cost_of(graph, "F T IY N - N UW Z")
    assert two in apart and one not in apart
    assert apart[two] == pytest.approx(merged[one])


@pytest.mark.slow
@pytest.mark.parametrize("number", ["forty", "seventy", "ninety"])
def test_a_ty_before_newtons_is_no_teen(
    recognizer: VoskRecognizer, synthesize: Synthesize, number: str
) -> None:
    said = f"left leaf closing force {number} newtons"
    assert recognizer.recognize(synthesize(said)).text == said


def test_a_word_without_pronunciation_is_named() -> None:
    with pytest.raises(ModelError, match="no pronunciation for: left, note, right"):
        compile_graph(AUTOMATON, parse_lexicon("leaf L IY F"))


@pytest.mark.slow
def test_the_same_grammar_gives_the_same_bytes_and_they_are_the_shipped_ones(
    tmp_path: Path, language: Language
) -> None:
    graph = compile_graph(language.automaton(), read_lexicon(SHIPPED / "lexicon.txt"))
    graph.write(tmp_path)
    for name in ("HCLG.fst", "words.txt", "phones/word_boundary.int"):
        assert (tmp_path / name).read_bytes() == (SHIPPED / "graph" / name).read_bytes(), (
            f"graph/{name} is not what the grammar gives: run handsfree model build"
        )


@pytest.mark.slow
def test_vosk_hears_only_what_a_small_grammar_has(tmp_path: Path, synthesize: Synthesize) -> None:
    folder = tmp_path / "small"
    shutil.copytree(SHIPPED, folder)
    compile_graph(AUTOMATON, read_lexicon(SHIPPED / "lexicon.txt")).write(folder / "graph")
    recognizer = VoskRecognizer(SpeechModel.load(folder))
    assert recognizer.recognize(synthesize("right leaf")).text == "right leaf"
    assert recognizer.recognize(synthesize("left leaf")).text == "left leaf"
    assert "right" not in recognizer.recognize(synthesize("the weather is fine today")).text
