from __future__ import annotations

from itertools import pairwise
from random import Random

import pytest

from handsfree.language.automaton import Automaton
from handsfree.language.interpreter import Language
from handsfree.language.word_pair_cover import cover


def test_each_pair_of_neighbors_is_in_the_shortest_sentence_that_has_it() -> None:
    arcs = (
        *((0, "left", 1), (0, "stop", 2), (0, "right", 1)),
        *((1, "leaf", 2), (2, "now", 3), (3, "please", 3)),
    )
    assert cover(Automaton(0, arcs, frozenset((2, 3)))) == [
        "left leaf",
        "stop",
        "stop now",
        "right leaf",
        "left leaf now",
        "stop now please",
        "stop now please please",
    ]


@pytest.mark.slow
def test_it_holds_every_pair_of_the_grammar_and_nothing_but_sentences(language: Language) -> None:
    automaton = language.automaton()
    sentences = [sentence.split() for sentence in cover(automaton)]
    assert all(automaton.accepts(sentence) for sentence in sentences)
    covered = {pair for sentence in sentences for pair in pairwise(sentence)}
    rng = Random(3)
    for _ in range(2000):
        assert set(pairwise(language.sentence(rng).split())) <= covered
