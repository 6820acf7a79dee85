"""The positions of words in a recording, from the outputs of a network."""

import numpy as np

from handsfree.training.cuts import Cut, aligned, words_in

OUTPUTS = 40
WORDS = {"one": [[1, 2, 3]], "two": [[4, 5, 6]], "oh": [[7]]}


def heard(path: list[int], sure: float = 0.95) -> np.ndarray:
    """Log posteriors of a network that hears one output in each frame."""
    scores = np.full((len(path), OUTPUTS), (1 - sure) / (OUTPUTS - 1))
    scores[range(len(path)), path] = sure
    return np.log(scores).astype(np.float32)


def test_each_phone_has_its_first_and_last_frame():
    assert aligned(heard([0, 1, 1, 0, 2, 3, 0]), [1, 2, 3]) == [(1, 2), (4, 4), (5, 5)]


def test_two_like_phones_need_the_blank_between():
    (first, second) = aligned(heard([1, 1, 0, 1, 1]), [1, 1])
    assert first == (0, 1) and second == (3, 4)


def test_a_word_ends_before_the_next_one_begins():
    path = [0, 0, 1, 0, 2, 0, 3, 0, 0, 4, 0, 5, 0, 6, 0, 0]
    found = words_in(heard(path), ["one", "two"], WORDS, 16 * 480)
    assert found == [Cut("one", 1 * 480, 8 * 480), Cut("two", 8 * 480, 16 * 480)]


def test_what_is_short_or_unsure_is_left_out():
    path = [0, 0, 7, 0, 1, 0, 2, 0, 3, 0, 0, 0]
    assert [c.word for c in words_in(heard(path), ["oh", "one"], WORDS, 12 * 480)] == ["one"]
    assert words_in(heard(path, 0.5), ["oh", "one"], WORDS, 12 * 480) == []
    assert words_in(heard(path)[:3], ["oh", "one"], WORDS, 3 * 480) == []
