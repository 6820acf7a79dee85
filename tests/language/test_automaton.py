from random import Random

import pytest

from handsfree.language.automaton import build_automaton
from handsfree.language.matcher import Matcher


def test_a_small_grammar_gives_the_smallest_automaton(grammar_of):
    grammar = grammar_of("<top> = [the] (left | right) leaf | both leaves | stop+;")
    automaton = build_automaton(grammar, "top")
    assert [word for state, word, _ in automaton.arcs if state == automaton.start] == sorted(
        ["the", "left", "right", "both", "stop"]
    )
    # Start, after 'the', before 'leaf', before 'leaves', after 'stop', the end.
    assert len({s for a, _, b in automaton.arcs for s in (a, b)}) == 6
    assert len(automaton.arcs) == 10
    assert automaton.accepts(("stop", "stop", "stop"))
    assert not automaton.accepts(("stop", "left"))
    assert not automaton.accepts(("both",))


@pytest.mark.slow
def test_it_is_deterministic_and_small_enough_for_the_recognizer(language):
    automaton = language.automaton()
    assert len({(state, word) for state, word, _ in automaton.arcs}) == len(automaton.arcs)
    assert len(automaton.arcs) < 17_000
    marks = {word for _, word, _ in language.automaton("mark").arcs}
    assert {word for _, word, _ in automaton.arcs} | marks == language.words()
    for rule in ("utterance", "mark", "answer"):
        said = {word for _, word, _ in language.automaton(rule).arcs}
        assert said == language.words(rule)


@pytest.mark.slow
def test_it_accepts_exactly_what_the_matcher_accepts(language):
    """On sampled sentences and on sentences with a word lost, doubled, swapped or changed."""
    rng = Random(7)
    vocabulary = sorted(language.words())
    match = Matcher(language.grammar)
    automaton = language.automaton()
    refused = 0
    for _ in range(3000):
        words = language.sentence(rng).split()
        assert automaton.accepts(words)
        assert match.parses(words, "utterance")
        spoilt = _spoilt(words, vocabulary, rng)
        accepted = bool(match.parses(spoilt, "utterance"))
        assert automaton.accepts(spoilt) == accepted, spoilt
        refused += not accepted
    assert refused > 1000


def _spoilt(words: list[str], vocabulary: list[str], rng: Random) -> list[str]:
    place = rng.randrange(len(words))
    head, word, tail = words[:place], words[place], words[place + 1 :]
    return rng.choice(
        [
            head + tail,
            [*head, word, word, *tail],
            [*tail, word, *head],
            [*head, rng.choice(vocabulary), *tail],
        ]
    )
