"""The words of a run are aligned together, and never against the order without a question."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from handsfree.job.reading import Subject
from handsfree.timing.cue_alignment import CandidateWord, CueCandidates, align_words
from handsfree.timing.cycle import WORDS, Label, cycle_of
from handsfree.timing.pair_cycle import pair_cycle_of
from tests.timing.test_cycle import SIX_S, marks_at

SIX = tuple(WORDS)
LEFT, RIGHT = Subject.LEFT_LEAF, Subject.RIGHT_LEAF
TWELVE_S = tuple(at + late for at in SIX_S for late in (0.0, 0.9))
TWELVE = tuple((word, leaf) for word in SIX for leaf in (LEFT, RIGHT))
TAP = CueCandidates()


def said(
    at_s: float, *words: str, clearly: bool = True, leaf: Subject | None = None
) -> CueCandidates:
    """The first of the words is the likeliest, each further one 2 nats less."""
    return CueCandidates(
        words=tuple(
            CandidateWord(label=Label(word=word, start_s=at_s, leaf=leaf), cost=2.0 * nth)
            for nth, word in enumerate(words)
        ),
        clearly=clearly,
    )


def read(says: list[CueCandidates], at_s: tuple[float, ...] = SIX_S) -> list[str]:
    return [label.word for label in align_words(marks_at(*at_s), says, by_leaf=False)]


def six(**other: CueCandidates) -> list[CueCandidates]:
    return [other.get(word) or said(at, word) for word, at in zip(SIX, SIX_S, strict=True)]


def test_words_that_are_heard_in_their_order_name_their_marks():
    assert read(six()) == list(SIX)


def test_the_order_decides_between_words_that_are_nearly_as_likely():
    assert read(six(shut=said(SIX_S[5], "check", "shut"))) == list(SIX)


def test_a_word_that_is_not_clear_is_read_by_the_order_or_not_at_all():
    assert read(six(ten=said(SIX_S[4], "ten", clearly=False))) == list(SIX)
    assert read(six(ten=said(SIX_S[4], "go", clearly=False))) == [w for w in SIX if w != "ten"]


def test_a_clear_word_against_the_order_stands_as_it_was_heard():
    says = six(closing=said(SIX_S[3], "check"))

    labels = align_words(marks_at(*SIX_S), says, by_leaf=False)

    assert [label.word for label in labels] == ["go", "check", "open", "check", "ten", "shut"]
    assert not cycle_of(marks_at(*SIX_S), labels).complete


def test_taps_are_named_by_no_word_that_a_clatter_resembles():
    says = [TAP, TAP, said(SIX_S[2], "ten", clearly=False), TAP, TAP, TAP]

    assert read(says) == []


def test_a_word_that_begins_away_from_its_mark_is_said_to():
    says = six(open=said(SIX_S[2] + 0.4, "open"))

    labels = align_words(marks_at(*SIX_S), says, by_leaf=False)

    assert [str(p) for p in cycle_of(marks_at(*SIX_S), labels).problems] == [
        "a word without a sharp sound: fully open"
    ]


def test_a_clatter_where_a_mark_was_missed_is_asked_about():
    """The one wrong time that the order alone could not see."""
    at_s = (*SIX_S[:1], SIX_S[1] - 0.8, *SIX_S[2:])
    says = six(check=TAP)

    cycle = cycle_of(marks_at(*at_s), align_words(marks_at(*at_s), says, by_leaf=False))

    assert [str(p) for p in cycle.problems] == [
        "no word was heard at 3.70 s; the other marks have words"
    ]


def test_a_clatter_beside_six_words_is_no_mark():
    at_s = (*SIX_S[:2], 5.2, *SIX_S[2:])
    says = six()
    says.insert(2, TAP)

    cycle = cycle_of(marks_at(*at_s), align_words(marks_at(*at_s), says, by_leaf=False))

    assert cycle.complete and not cycle.problems
    assert [each.mark.at_s for each in cycle.placed] == list(SIX_S)


@given(st.integers(0, 5), st.integers(0, 5))
def test_a_missed_mark_and_a_clatter_never_make_a_whole_cycle(missed: int, clatter: int):
    """Wherever the clatter comes, among five words in their order."""
    kept = [nth for nth in range(6) if nth != missed]
    at_s = [(SIX_S[nth], said(SIX_S[nth], SIX[nth])) for nth in kept]
    before = SIX_S[clatter - 1] if clatter else 0.0
    at_s = sorted([*at_s, ((before + SIX_S[clatter]) / 2, TAP)], key=lambda each: each[0])
    marks = marks_at(*(at for at, _ in at_s))

    cycle = cycle_of(marks, align_words(marks, [each for _, each in at_s], by_leaf=False))

    assert not cycle.complete


@pytest.mark.parametrize("wrong", range(12))
def test_of_two_leaves_the_order_of_each_decides(wrong: int):
    """At one mark the other leaf is as likely, and at one another word."""
    word, leaf = TWELVE[wrong]
    other = RIGHT if leaf is LEFT else LEFT
    says = [said(at, w, leaf=who) for at, (w, who) in zip(TWELVE_S, TWELVE, strict=True)]
    at = TWELVE_S[wrong]
    labels = [Label(word=word, start_s=at, leaf=who) for who in (other, leaf)]
    says[wrong] = CueCandidates(
        words=tuple(CandidateWord(label=each, cost=2.0 * nth) for nth, each in enumerate(labels))
    )
    marks = marks_at(*TWELVE_S)

    pair = pair_cycle_of(marks, align_words(marks, says, by_leaf=True), 0.5)

    assert not pair.all_problems
    assert [each.mark.at_s for each in pair.cycles[RIGHT].placed] == list(TWELVE_S[1::2])


def test_two_leaves_that_are_equally_likely_are_no_guess():
    says = [said(at, w, leaf=who) for at, (w, who) in zip(TWELVE_S, TWELVE, strict=True)]
    for nth in (0, 1):
        both = [Label(word="go", start_s=TWELVE_S[nth], leaf=who) for who in (LEFT, RIGHT)]
        says[nth] = CueCandidates(words=tuple(CandidateWord(label=label) for label in both))
    marks = marks_at(*TWELVE_S)

    pair = pair_cycle_of(marks, align_words(marks, says, by_leaf=True), 0.5)

    assert pair.problems[0].kind == "unnamed"
