from collections import Counter
from random import Random

import pytest

from handsfree.language.sentence_sampler import sample


def test_alternatives_come_as_often_as_their_weights_say(grammar_of):
    grammar = grammar_of("<top> = /9/ yes | /1/ no;")
    rng = Random(3)
    said = Counter(sample(grammar, "top", rng) for _ in range(2000))
    assert 0.87 < said[("yes",)] / 2000 < 0.93


def test_the_same_seed_gives_the_same_sentences(language):
    first, second = Random(5), Random(5)
    assert [language.sentence(first) for _ in range(50)] == [
        language.sentence(second) for _ in range(50)
    ]


@pytest.mark.slow
def test_every_word_is_said_sooner_or_later(language):
    rng = Random(1)
    said = {word for _ in range(150_000) for word in language.sentence(rng).split()}
    marks = {word for _, word, _ in language.automaton("mark").arcs}
    assert said | marks == language.words()
