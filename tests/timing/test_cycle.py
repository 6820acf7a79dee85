"""Marks become moments by their order or by their words, or not at all."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from handsfree.job.quantity import Quantity
from handsfree.sample_rate import SAMPLE_RATE_HZ
from handsfree.timing.cycle import MOMENTS, WORDS, Label, Moment, cycle_of
from handsfree.timing.mark import Mark


def marks_at(*at_s: float, uncertainty_s: float = 0.01) -> tuple[Mark, ...]:
    return tuple(
        Mark(
            sample=round(second * SAMPLE_RATE_HZ),
            end_sample=round((second + 0.3) * SAMPLE_RATE_HZ),
            snr_db=25,
            level_db=-20,
            uncertainty_s=uncertainty_s,
        )
        for second in at_s
    )


SIX_S = (1.0, 4.5, 6.0, 11.5, 15.5, 17.25)


def test_six_marks_in_order_give_the_five_times():
    cycle = cycle_of(marks_at(*SIX_S))

    assert cycle.complete and not cycle.problems
    assert {each.quantity: each.seconds for each in cycle.intervals} == {
        Quantity.OPENING_TIME: 3.5,
        Quantity.TOTAL_OPENING_TIME: 5.0,
        Quantity.HOLD_OPEN_TIME: 5.5,
        Quantity.CLOSING_TIME: 4.0,
        Quantity.LATCHING_TIME: 1.75,
    }


def test_five_marks_without_words_are_no_cycle_and_nothing_is_guessed():
    cycle = cycle_of(marks_at(*SIX_S[:5]))

    assert not cycle.placed
    assert not cycle.intervals
    assert str(cycle.problems[0]).startswith("1 missing among: starts to move, backcheck")


def test_words_tell_which_mark_is_missing():
    heard = [(1.0, "go"), (6.0, "open"), (11.5, "closing"), (15.5, "ten"), (17.25, "shut")]

    cycle = cycle_of(
        marks_at(*(at for at, _ in heard)),
        [Label(word=word, start_s=at + 0.1) for at, word in heard],
    )

    assert [str(problem) for problem in cycle.problems] == ["no mark for: backcheck or 80 degrees"]
    assert cycle.interval(Quantity.OPENING_TIME) is None
    assert cycle.interval(Quantity.TOTAL_OPENING_TIME).seconds == 5.0


def test_a_word_overrides_the_order():
    """A slammed door somewhere makes seven; the one word 'go' says that it came before."""
    cycle = cycle_of(marks_at(0.2, *SIX_S), [Label(word="go", start_s=0.95)])

    assert [each.mark.at_s for each in cycle.placed] == list(SIX_S)
    assert [str(p) for p in cycle.problems] == ["too many marks, at 0.20 s; nothing fits there"]


@pytest.mark.parametrize(
    ("labels", "said"),
    [
        ([("open", 1.0), ("go", 6.0)], "the words are not in the order of a cycle, at 1.00 s"),
        ([("ten", 1.0), ("ten", 6.0)], "marked twice, at 1.00 s, 6.00 s: ten degrees"),
        ([("shut", 9.0)], "a word without a sharp sound: latched"),
    ],
)
def test_words_that_cannot_be_are_told(labels: list[tuple[str, float]], said: str):
    cycle = cycle_of(marks_at(*SIX_S), [Label(word=word, start_s=at) for word, at in labels])

    assert not cycle.complete
    assert str(cycle.problems[0]).startswith(said)


IN_ORDER = tuple(zip(WORDS, SIX_S, strict=True))


def spoken_at(*at_s: float, clatter_s: tuple[float, ...] = ()) -> list[Mark]:
    """Marks that were said, and others that were not."""
    said = [mark.model_copy(update={"spoken": True}) for mark in marks_at(*at_s)]
    return said + [mark.model_copy(update={"spoken": False}) for mark in marks_at(*clatter_s)]


def labels_of(*said: tuple[str, float]) -> list[Label]:
    return [Label(word=word, start_s=at) for word, at in said]


@pytest.mark.parametrize("lost", range(6))
def test_a_word_that_was_not_understood_is_placed_by_the_order_and_to_be_agreed_to(lost: int):
    cycle = cycle_of(spoken_at(*SIX_S), labels_of(*IN_ORDER[:lost], *IN_ORDER[lost + 1 :]))

    (problem,) = cycle.problems
    assert (problem.kind, problem.moments) == ("misheard", (MOMENTS[lost],))
    assert cycle.complete
    assert [each.moment for each in cycle.placed] == list(MOMENTS)
    assert cycle.intervals == cycle_of(spoken_at(*SIX_S)).intervals


@pytest.mark.parametrize("heard", ["go", "check", "open", "closing", "ten"])
def test_one_word_against_all_others_was_not_understood(heard: str):
    """Some voices say 'shut' as others say 'check'; 'check' then stands at two of six marks."""
    cycle = cycle_of(spoken_at(*SIX_S), labels_of(*IN_ORDER[:5], (heard, SIX_S[5])))

    (problem,) = cycle.problems
    assert (problem.kind, problem.moments) == ("misheard", (Moment.LATCHED,))
    assert str(problem) == "what was said at 17.25 s was not understood; by the order: latched"
    assert cycle.placed[5].word is None


def test_a_word_that_comes_early_and_something_said_after_it_are_no_cycle():
    """'Ten' was forgotten, and somebody speaks after 'shut': its mark is not 'ten' by the order."""
    cycle = cycle_of(spoken_at(*SIX_S), labels_of(*IN_ORDER[:4], ("shut", SIX_S[4])))

    assert [problem.kind for problem in cycle.problems] == ["missing", "extra"]


def test_two_words_that_changed_places_are_out_of_order_still():
    changed = [("go", 1.0), ("open", 4.5), ("check", 6.0), *IN_ORDER[3:]]

    cycle = cycle_of(spoken_at(*SIX_S), labels_of(*changed))

    assert [problem.kind for problem in cycle.problems] == ["out of order"]


@pytest.mark.parametrize("understood", [4, 5, 6])
def test_a_clatter_beside_six_that_were_said_is_no_mark(understood: int):
    marks = spoken_at(*SIX_S, clatter_s=(0.3, 9.0))

    cycle = cycle_of(marks, labels_of(*IN_ORDER[:understood]))

    assert [each.mark.at_s for each in cycle.placed] == list(SIX_S)
    assert cycle.complete
    told = ["misheard"] if understood < 6 else []
    assert [problem.kind for problem in cycle.problems] == told


def test_a_tap_among_words_is_asked_about():
    """It may be a clatter beside a word that was missed."""
    cycle = cycle_of(
        spoken_at(*SIX_S[:5], clatter_s=SIX_S[5:]),
        labels_of(*IN_ORDER[:5]),
    )

    assert [problem.kind for problem in cycle.problems] == ["unheard"]


@pytest.mark.slow
@given(st.integers(0, 5), st.lists(st.floats(0.0, 19.0), min_size=1, max_size=3))
def test_a_clatter_never_stands_for_a_word_that_was_missed(missed: int, clatter_s: list[float]):
    kept = [each for nth, each in enumerate(IN_ORDER) if nth != missed]

    cycle = cycle_of(
        spoken_at(*(at for _, at in kept), clatter_s=tuple(clatter_s)), labels_of(*kept)
    )

    assert any(problem.kind != "misheard" for problem in cycle.problems)


def test_a_word_that_marks_nothing_is_refused():
    with pytest.raises(
        ValueError, match="'bang' is not the word of a moment: expected one of go, check"
    ):
        cycle_of(marks_at(1.0), [Label(word="bang", start_s=1.0)])


@pytest.mark.slow
@given(st.sets(st.sampled_from(MOMENTS)))
def test_words_on_every_mark_never_misplace_one(marked: set[Moment]):
    """Whichever marks are there, a named one is what its word says and the rest is missing."""
    at = {moment: second for moment, second in zip(MOMENTS, SIX_S, strict=True) if moment in marked}
    word = {moment: word for word, moment in WORDS.items()}

    cycle = cycle_of(
        marks_at(*at.values()), [Label(word=word[m], start_s=s) for m, s in at.items()]
    )

    assert {each.moment: each.mark.at_s for each in cycle.placed} == at
    missing = {moment for problem in cycle.problems for moment in problem.moments}
    assert missing == set(MOMENTS) - marked


def test_marks_and_observer_combine_as_the_guide_says():
    """Checked against `uncertainties` from PyPI, which propagates them by itself."""
    ufloat = pytest.importorskip("uncertainties").ufloat
    first, second = marks_at(1.0, uncertainty_s=0.03) + marks_at(4.5, uncertainty_s=0.02)
    cycle = cycle_of([first, second, *marks_at(*SIX_S[2:])])

    late = 0.11, 0.10 / 2**0.5  # one observed event; two of them scatter by 0.10 s
    begin = ufloat(1.0, 0.03) + ufloat(*late)
    end = ufloat(4.5, 0.02) + ufloat(*late)

    opening = cycle.interval(Quantity.OPENING_TIME)
    assert opening.seconds == pytest.approx((end - begin).nominal_value)
    assert opening.uncertainty_s == pytest.approx((end - begin).std_dev)


def test_an_observers_delay_cancels_and_the_spread_covers_the_scatter():
    """One event is met 0.11 s late with SD 0.07 s: Am. J. Phys. 87(2), 110 (2019), seen."""
    rng = np.random.default_rng(7)
    late = rng.normal(0.11, 0.07, (4000, 2))
    true_s = 4.0
    taken = true_s + late[:, 1] - late[:, 0]
    run = cycle_of(marks_at(1, 5, 8, 14, 18, 20, uncertainty_s=0.005))
    stated = run.interval(Quantity.OPENING_TIME).uncertainty_s

    assert np.mean(taken) == pytest.approx(true_s, abs=0.005)
    assert np.std(taken) == pytest.approx(stated, rel=0.05)
    assert np.mean(np.abs(taken - true_s) <= 1.96 * stated) == pytest.approx(0.95, abs=0.015)
