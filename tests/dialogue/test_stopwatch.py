"""The stopwatch in the conversation: five times from the marks, and more runs until they decide."""

from __future__ import annotations

from decimal import Decimal

import pytest

from handsfree.dialogue import state_machine
from handsfree.dialogue.questions.another_run import AnotherRunQuestion
from handsfree.dialogue.questions.clock_run import ClockRunQuestion
from handsfree.dialogue.state import CycleHeard, TimeCycle
from handsfree.job.quantity import Quantity
from handsfree.job.reading import Subject, Taken
from handsfree.sample_rate import SAMPLE_RATE_HZ
from handsfree.timing.cycle import SPANS, Label
from handsfree.timing.mark import Mark

# 36 in, 150 lb, backcheck at 80 degrees: 3.5 s to backcheck and 4 s in all (Table I and II).
CYCLE_S = (1.0, 5.2, 7.1, 13.6, 18.0, 20.1)
LEFT_OPENING = "opening-time:left leaf"
SAY_WORDS = "With taps, every sharp sound counts. With words, a clatter doesn't."


def marks(*at_s: float) -> tuple[Mark, ...]:
    return tuple(
        Mark(
            sample=round(at * SAMPLE_RATE_HZ),
            end_sample=round((at + 0.2) * SAMPLE_RATE_HZ),
            snr_db=30.0,
            level_db=-20.0,
            uncertainty_s=0.01,
        )
        for at in at_s
    )


@pytest.fixture
def timed(talk):
    """A conversation with a stream of sound, at the times."""
    talk.state = talk.state.model_copy(update={"times_by_ear": True})
    talk.go_to(LEFT_OPENING)
    return talk


def hears(talk, *at_s: float, **more) -> list[str]:
    heard = CycleHeard(marks=marks(*at_s), clip="000042.flac", **more)
    return talk._take(state_machine.answer(talk.state, heard, talk.now_s))


def test_without_a_stream_it_says_that_it_cannot_time(talk):
    (spoken,) = talk.says("start the clock left leaf")
    assert spoken.startswith("I can't time by ear on this visit.")


def test_starting_the_clock_says_the_marks_and_then_listens(timed):
    (spoken,) = timed.says("start the clock left leaf")
    assert spoken.startswith("Left leaf, run one.") and spoken.endswith("I listen.")
    assert timed.replies[-1] == TimeCycle(leaf=Subject.LEFT_LEAF)
    assert isinstance(timed.state.pending, ClockRunQuestion)


def test_the_leaf_at_hand_is_meant_where_none_is_named(timed):
    timed.says("start the clock")
    assert timed.replies[-1] == TimeCycle(leaf=Subject.LEFT_LEAF)


def test_the_leaf_is_asked_for_where_it_cannot_be_told(talk):
    talk.state = talk.state.model_copy(update={"times_by_ear": True})
    assert talk.says("start the clock") == ["Which leaf, left or right?"]
    talk.says("right leaf")
    assert talk.replies[-1] == TimeCycle(leaf=Subject.RIGHT_LEAF)


def test_five_times_are_read_back_in_one_sentence_and_filed_by_one_affirm(timed):
    timed.says("start the clock left leaf")
    (spoken,) = hears(timed, *CYCLE_S)
    assert spoken == (
        "Left leaf, opening time four point two zero, total opening time six point one zero, "
        "hold open time six point five zero, closing time four point four zero, "
        "latching time two point one zero, seconds."
    )
    assert timed.state.progress.job.readings == ()
    timed.says("affirm")
    readings = timed.state.progress.job.readings
    assert [(r.quantity, r.value) for r in readings] == [
        (Quantity.OPENING_TIME, Decimal("4.20")),
        (Quantity.TOTAL_OPENING_TIME, Decimal("6.10")),
        (Quantity.HOLD_OPEN_TIME, Decimal("6.50")),
        (Quantity.CLOSING_TIME, Decimal("4.40")),
        (Quantity.LATCHING_TIME, Decimal("2.10")),
    ]
    assert {(r.taken, r.clip, r.run) for r in readings} == {(Taken.BY_EAR, "000042.flac", 1)}
    # Two marks of 10 ms each: the root of the sum of squares.
    assert {r.marks_s for r in readings} == {Decimal("0.014")}
    assert timed.state.progress.at == "opening-time:right leaf"


def test_refused_times_are_dropped_and_nothing_is_filed(timed):
    timed.says("start the clock left leaf")
    hears(timed, *CYCLE_S)
    timed.says("negative")
    assert timed.state.progress.job.readings == ()
    assert timed.state.progress.at == LEFT_OPENING


def test_one_time_of_a_run_is_corrected_and_the_others_stay(timed):
    timed.says("start the clock left leaf")
    hears(timed, *CYCLE_S)
    (spoken,) = timed.says("correction latching time two point five")
    assert "latching time two point five, seconds" in spoken
    timed.says("affirm")
    assert timed.state.progress.job.readings[-1].value == Decimal("2.5")
    assert timed.state.progress.job.readings[-1].taken is Taken.SAID


@pytest.mark.parametrize(
    ("at_s", "labels", "said"),
    [
        (CYCLE_S[:5], (), "One of six marks is missing."),
        (CYCLE_S[:2], (), "4 of six marks are missing."),
        ((*CYCLE_S, 22.0), (), "There is one mark too many."),
        (CYCLE_S, ("shut", "go"), "The words are not in the order of a cycle."),
    ],
)
def test_a_run_that_is_not_whole_ends_in_a_question_and_files_nothing(timed, at_s, labels, said):
    timed.says("start the clock left leaf")
    words = tuple(Label(word=word, start_s=at) for word, at in zip(labels, CYCLE_S, strict=False))
    (spoken,) = hears(timed, *at_s, labels=words)
    assert spoken == f"{said} Run it again?"
    assert timed.state.progress.job.readings == ()
    timed.says("affirm")
    assert timed.replies[-1] == TimeCycle(leaf=Subject.LEFT_LEAF)


def test_a_time_that_no_door_takes_is_asked_for_again(timed):
    timed.says("start the clock left leaf")
    (spoken,) = hears(timed, 1.0, 26.2, 27.4, 34.0, 38.0, 40.0)
    assert spoken == (
        "Opening time, two five point two zero seconds. Usual is from zero point five seconds "
        "to twenty seconds. Run it again?"
    )
    assert timed.state.progress.job.readings == ()


def test_a_question_about_another_run_can_be_refused(timed):
    timed.says("start the clock left leaf")
    hears(timed, *CYCLE_S[:3])
    assert timed.says("negative") == ["Opening time of the left leaf."]


def test_cancel_drops_the_run(timed):
    timed.says("start the clock left leaf")
    assert hears(timed, 1.0, cancelled=True)[0] == "Run dropped."
    assert timed.state.pending is None


def test_another_run_is_asked_for_while_it_should_decide(timed):
    """3.65 s where 3.5 s are asked for: within the 0.54 s of one run, outside the 0.14 of three."""
    too_close = (1.0, 4.65, 7.1, 13.6, 18.0, 20.1)
    timed.says("start the clock left leaf")
    hears(timed, *too_close)
    spoken = timed.says("affirm")
    assert spoken[-1] == "Another run should settle it. Run two?"
    timed.says("affirm")
    assert timed.replies[-1] == TimeCycle(leaf=Subject.LEFT_LEAF)
    hears(timed, *too_close)
    spoken = timed.says("affirm")
    assert spoken[-1] == "Another run should settle it. Run three?"
    timed.says("affirm")
    hears(timed, *too_close)
    spoken = timed.says("affirm")
    runs = timed.state.progress.job.runs(Quantity.OPENING_TIME, Subject.LEFT_LEAF)
    assert [r.run for r in runs] == [1, 2, 3]
    assert "All pass." in spoken
    assert timed.state.progress.at == "opening-time:right leaf"


def test_it_says_when_no_further_run_would_help(timed):
    at_the_limit = (1.0, 4.5, 7.1, 13.6, 18.0, 20.1)
    timed.says("start the clock left leaf")
    hears(timed, *at_the_limit)
    spoken = timed.says("affirm")
    assert any("measuring again won't settle it, so slow the opening of" in text for text in spoken)
    assert spoken[-1].startswith("Slow the opening speed of the left leaf.")
    assert not isinstance(timed.state.pending, AnotherRunQuestion)


def test_away_from_its_step_it_says_at_once_what_to_set(talk):
    talk.state = talk.state.model_copy(update={"times_by_ear": True})
    talk.says("start the clock left leaf")
    hears(talk, 1.0, 4.5, 7.1, 13.6, 18.0, 20.1)
    spoken = talk.says("affirm")
    assert any("measuring again won't settle it, so slow the opening of" in text for text in spoken)
    assert spoken[-1] == "Power off."


def test_a_time_that_fails_is_adjusted_first(timed):
    timed.says("start the clock left leaf")
    hears(timed, 1.0, 3.5, 7.1, 13.6, 18.0, 20.1)
    spoken = timed.says("affirm")
    assert spoken[-1].startswith("Slow the opening speed of the left leaf.")
    timed.says("start the clock left leaf")
    hears(timed, *CYCLE_S)
    timed.says("affirm")
    job = timed.state.progress.job
    assert job.latest(Quantity.OPENING_TIME, Subject.LEFT_LEAF).attempt == 2


def test_a_run_after_an_adjustment_is_a_new_attempt_of_every_time(timed):
    """No run from before an adjustment counts in a mean after it, whichever time asked for it."""
    for cycle in ((1.0, 3.5, 7.1, 13.6, 18.0, 20.1), CYCLE_S, CYCLE_S):
        timed.says("start the clock left leaf")
        hears(timed, *cycle)
        timed.says("affirm")
    job = timed.state.progress.job
    for quantity in SPANS:
        runs = job.runs(quantity, Subject.LEFT_LEAF)
        assert [(r.attempt, r.run) for r in runs] == [(2, 1), (2, 2)], quantity


def test_the_run_after_an_adjustment_is_announced_as_the_first(timed):
    timed.says("start the clock left leaf")
    hears(timed, 1.0, 3.5, 7.1, 13.6, 18.0, 20.1)
    timed.says("affirm")
    spoken = timed.says("start the clock left leaf")
    assert spoken[-1].startswith("Left leaf, run one.")


def test_no_further_run_is_asked_for_where_another_time_has_to_be_adjusted(timed):
    """The opening time is too close for any run to help; one more run would settle the closing."""
    timed.says("start the clock left leaf")
    hears(timed, 1.0, 4.5, 7.1, 13.6, 17.25, 20.1)
    spoken = timed.says("affirm")
    assert spoken[-1].startswith("Slow the opening speed of the left leaf.")
    assert not isinstance(timed.state.pending, AnotherRunQuestion)


def test_both_leaves_are_timed_one_after_the_other(timed):
    timed.says("start the clock both leaves")
    hears(timed, *CYCLE_S)
    spoken = timed.says("affirm")
    assert spoken[-1].startswith("Right leaf, run one.")
    assert timed.replies[-1] == TimeCycle(leaf=Subject.RIGHT_LEAF)
    hears(timed, *CYCLE_S)
    timed.says("affirm")
    assert len(timed.state.progress.job.readings) == 10


def test_a_run_is_withdrawn_by_its_number(timed):
    timed.says("start the clock left leaf")
    hears(timed, *CYCLE_S)
    timed.says("affirm")
    (spoken,) = timed.says("withdraw run one")
    assert spoken.startswith("Withdraw: Left leaf, opening time, four point two zero seconds.")
    timed.says("affirm")
    assert timed.state.progress.job.readings == ()
    assert timed.says("withdraw run two") == ["There is no reading to withdraw."]


def test_the_doubt_of_the_marks_reaches_the_guard_band(timed):
    """Marks of 0.2 s each: 3.9 s would pass with a stopwatch, and are too close here."""
    loose = tuple(mark.model_copy(update={"uncertainty_s": 0.2}) for mark in marks(*CYCLE_S))
    loose = (loose[0], *marks(4.9), *loose[2:])
    timed.says("start the clock left leaf")
    timed._take(state_machine.answer(timed.state, CycleHeard(marks=loose, clip=None), 0.0))
    spoken = timed.says("affirm")
    assert spoken[0].startswith("Too close to call.")


WORDS = ("go", "check", "open", "closing", "ten", "shut")


def both(*at_s: float, later_s: float = 0.9) -> tuple[Label, ...]:
    """The words for two leaves, with the right one slightly later at every moment."""
    return tuple(
        Label(word=word, start_s=at + late, leaf=leaf)
        for at, word in zip(at_s, WORDS, strict=True)
        for late, leaf in ((0.0, Subject.LEFT_LEAF), (later_s, Subject.RIGHT_LEAF))
    )


def heard_as(*at_s: float, spoken: bool) -> tuple[Mark, ...]:
    return tuple(mark.model_copy(update={"spoken": spoken}) for mark in marks(*at_s))


def hears_said(talk, labels: tuple[Label, ...], *at_s: float) -> list[str]:
    """A run in which a voice stands at every mark, understood or not."""
    heard = CycleHeard(marks=heard_as(*at_s, spoken=True), clip="000042.flac", labels=labels)
    return talk._take(state_machine.answer(talk.state, heard, talk.now_s))


@pytest.mark.parametrize(
    ("lost", "told"),
    [
        ((1,), "Check wasn't clear. I went by the order of the marks."),
        ((1, 5), "Check and shut weren't clear. I went by the order of the marks."),
    ],
)
def test_a_word_that_was_not_understood_is_told_before_the_times_are_read_back(timed, lost, told):
    timed.says("start the clock left leaf")
    labels = [Label(word=word, start_s=at) for word, at in zip(WORDS, CYCLE_S, strict=True)]
    understood = tuple(label for nth, label in enumerate(labels) if nth not in lost)

    first, times = hears_said(timed, understood, *CYCLE_S)

    assert first == told
    assert times.startswith("Left leaf, opening time four point two zero, total")
    assert timed.state.progress.job.readings == ()
    timed.says("affirm")
    assert len(timed.state.progress.job.readings) == 5


def test_a_tap_too_many_tells_of_words_and_a_word_too_many_does_not(timed):
    seven = (*CYCLE_S, 22.0)
    timed.says("start the clock left leaf")
    taps = CycleHeard(marks=heard_as(*seven, spoken=False), clip="000042.flac")
    assert timed._take(state_machine.answer(timed.state, taps, timed.now_s)) == [
        f"There is one mark too many. {SAY_WORDS} Run it again?"
    ]
    timed.says("affirm")
    assert hears_said(timed, (), *seven) == ["There is one mark too many. Run it again?"]


def test_times_by_the_order_can_be_refused(timed):
    timed.says("start the clock left leaf")
    labels = [Label(word=word, start_s=at) for word, at in zip(WORDS, CYCLE_S, strict=True)]
    hears_said(timed, tuple(labels[:5]), *CYCLE_S)
    timed.says("negative")
    assert timed.state.progress.job.readings == ()


def test_of_two_leaves_it_is_told_with_its_leaf(timed):
    timed.says("start the clock both leaves together")
    labels = both(*CYCLE_S)
    understood = tuple(label for nth, label in enumerate(labels) if nth != 11)
    first, times = hears_said(timed, understood, *(label.start_s for label in labels))
    assert first == "Right leaf, shut wasn't clear. I went by the order of the marks."
    assert times.startswith("Left leaf, opening time")


def test_both_leaves_are_timed_in_one_cycle_when_every_mark_is_named(timed):
    (spoken,) = timed.says("start the clock both leaves together")
    assert spoken.startswith("Both leaves in one cycle, run one. Say the leaf before each word")
    assert timed.replies[-1] == TimeCycle(leaf=Subject.BOTH_LEAVES)
    labels = both(*CYCLE_S)
    (spoken,) = hears(timed, *(label.start_s for label in labels), labels=labels)
    left, right = spoken.split(" Right leaf, ")
    assert left.startswith("Left leaf, opening time four point two zero, total")
    assert right.startswith("opening time four point two zero, total")
    spoken = timed.says("affirm")
    readings = timed.state.progress.job.readings
    assert [r.subject for r in readings] == [Subject.LEFT_LEAF] * 5 + [Subject.RIGHT_LEAF] * 5
    assert {r.clip for r in readings} == {"000042.flac"}


def test_one_time_of_one_leaf_is_corrected_among_ten(timed):
    timed.says("start the clock both leaves together")
    labels = both(*CYCLE_S)
    hears(timed, *(label.start_s for label in labels), labels=labels)
    timed.says("correction right leaf latching time two point five", "affirm")
    job = timed.state.progress.job
    assert job.latest(Quantity.LATCHING_TIME, Subject.RIGHT_LEAF).value == Decimal("2.5")
    assert job.latest(Quantity.LATCHING_TIME, Subject.LEFT_LEAF).value == Decimal("2.10")


@pytest.mark.parametrize(
    ("left_out", "later_s", "said"),
    [
        (3, 0.9, "I heard a mark without its leaf and its word."),
        (None, 0.4, "Two marks are too close together to tell apart."),
    ],
)
def test_what_cannot_be_told_of_two_leaves_is_a_question(timed, left_out, later_s, said):
    timed.says("start the clock both leaves together")
    labels = both(*CYCLE_S, later_s=later_s)
    kept = tuple(label for nth, label in enumerate(labels) if nth != left_out)
    (spoken,) = hears(timed, *(label.start_s for label in labels), labels=kept)
    assert spoken == f"{said} Run it again?"
    assert timed.state.progress.job.readings == ()
    timed.says("affirm")
    assert timed.replies[-1] == TimeCycle(leaf=Subject.BOTH_LEAVES)


def test_a_missing_mark_of_two_leaves_says_of_which(timed):
    timed.says("start the clock both leaves together")
    labels = tuple(label for nth, label in enumerate(both(*CYCLE_S)) if nth != 3)
    (spoken,) = hears(timed, *(label.start_s for label in labels), labels=labels)
    assert spoken == "Right leaf. One of six marks is missing. Run it again?"


def test_a_run_of_both_leaves_is_withdrawn_as_one(timed):
    timed.says("start the clock both leaves together")
    labels = both(1.0, 4.65, 7.1, 13.6, 18.0, 20.1)
    hears(timed, *(label.start_s for label in labels), labels=labels)
    timed.says("affirm")
    assert len(timed.state.progress.job.readings) == 10
    timed.says("withdraw run one", "affirm")
    assert timed.state.progress.job.readings == ()


def test_another_run_of_both_is_asked_for_while_one_leaf_needs_it(timed):
    timed.says("start the clock both leaves together")
    labels = both(1.0, 4.65, 7.1, 13.6, 18.0, 20.1)
    hears(timed, *(label.start_s for label in labels), labels=labels)
    spoken = timed.says("affirm")
    assert spoken[-1] == "Another run should settle it. Run two?"
    timed.says("affirm")
    assert timed.replies[-1] == TimeCycle(leaf=Subject.BOTH_LEAVES)


def test_noise_that_leaves_the_marks_uncertain_is_told(timed):
    loose = tuple(mark.model_copy(update={"uncertainty_s": 0.08}) for mark in marks(*CYCLE_S))
    timed.says("start the clock left leaf")
    spoken = timed._take(state_machine.answer(timed.state, CycleHeard(marks=loose), 0.0))
    assert spoken[0].startswith(
        "It's noisy: the marks leave zero point two three seconds in doubt."
    )
    assert spoken[1].startswith("Left leaf, opening time")
