"""A leaf measured by a sensor: read back, filed after 'affirm', judged by its largest energy."""

from __future__ import annotations

from decimal import Decimal

import pytest

from handsfree.dialogue.state import MeasureLeaf, Say
from handsfree.job.finding import Verdict
from handsfree.job.quantity import Quantity
from handsfree.job.reading import Subject, Taken
from handsfree.journal import events as ev
from handsfree.journal.motion_events import LeafMeasured

from ..talk import Talk
from .measured import TIMES, reads, shown
from .questions.places import LEFT_OPENING


@pytest.fixture
def measured(talk) -> Talk:
    """At the times, with a log that is being read."""
    talk.go_to(LEFT_OPENING)
    talk.says("measure the left leaf")
    return talk


def findings(talk: Talk) -> dict[str, Verdict]:
    judged = [body for body in talk.kept if isinstance(body, ev.Judged)]
    return {found.rule: found.verdict for body in judged for found in body.findings}


def test_the_leaf_at_hand_is_meant_where_none_is_named(talk):
    talk.go_to(LEFT_OPENING)
    assert talk.says("measure the leaf") == ["Left leaf: reading the log."]
    assert talk.replies[-1] == MeasureLeaf(leaf=Subject.LEFT_LEAF)


def test_times_and_largest_energies_are_read_back_in_one_breath(measured):
    (spoken,) = reads(measured, shown())
    assert spoken.startswith("Left leaf, opening time four point four zero, total opening time")
    # 150 lb, 36 in: 18.963 kg m2 at 20 degrees a second, 0.852 lbf ft by hand.
    assert spoken.endswith(
        "Largest energy: opening zero point eight five, closing zero point seven zero foot pounds."
    )


def test_only_affirm_files_them_even_where_most_answers_need_none(measured):
    measured.state = measured.state.model_copy(
        update={"progress": measured.state.progress.model_copy(update={"confirm": "doubtful"})}
    )
    reads(measured, shown())
    assert measured.state.echo is None and not measured.state.progress.job.readings
    measured.says("affirm")
    filed = measured.state.progress.job.readings
    assert {r.quantity: str(r.value) for r in filed} == TIMES
    assert {r.taken for r in filed} == {Taken.SENSOR} and {r.log for r in filed} == {"left.csv"}
    assert {r.marks_s for r in filed} == {Decimal("0.0060")}
    assert [r.quantity for r in filed if r.largest_speed] == [
        Quantity.OPENING_TIME,
        Quantity.CLOSING_TIME,
    ]


def test_the_largest_energy_is_judged_in_the_place_of_the_mean_one(measured):
    reads(measured, shown())
    measured.says("affirm")
    rules = findings(measured)
    assert rules["largest opening energy"] is rules["largest closing energy"] is Verdict.PASS
    assert not {"opening energy", "closing energy", "energy beyond backcheck"} & set(rules)
    assert not any("evenly" in text or "mean" in text for text in measured.state.advice)


def test_a_hard_ramp_fails_by_its_largest_energy(measured):
    reads(measured, shown(opening_deg_s="30.80"))
    spoken = " ".join(measured.says("affirm"))
    assert "the largest energy of the left leaf opening is too much: 2.02" in spoken.lower()
    assert "soften its ramp" in spoken


def test_negative_files_nothing_and_the_log_may_be_read_again(measured):
    reads(measured, shown())
    measured.says("negative")
    assert not measured.state.progress.job.readings and not measured.state.progress.logs


def test_a_log_that_was_filed_is_used_up(measured):
    reads(measured, shown())
    measured.says("affirm")
    assert measured.state.progress.logs == {"left.csv"}


def test_a_second_log_is_another_run(measured):
    for log in ("left.csv", "left-2.csv"):
        measured.says("measure the left leaf")
        reads(measured, shown(log=log))
        measured.says("affirm")
    times = measured.state.progress.job.runs(Quantity.OPENING_TIME, Subject.LEFT_LEAF)
    assert [(r.attempt, r.run) for r in times] == [(1, 1), (1, 2)]


@pytest.mark.parametrize(
    ("update", "says"),
    [
        ({"log": None}, "no new log"),
        ({"cycles": 3}, "3 cycles"),
        ({"flags": ("phone slipped",)}, "slipped"),
        ({"flags": ("uneven speed",)}, "pushed or held"),
        ({"flags": ("stopped on the way",)}, "stopped"),
        ({"flags": ("turned back",)}, "turned back"),
        ({"flags": ("did not close",)}, "did not end where it began"),
        ({"flags": ("did not open",)}, "less than half way"),
        ({"times": ()}, "not those of a door"),
        ({"problem": "no cycle in this log"}, "No cycle in this log."),
    ],
)
def test_what_cannot_be_used_is_said_and_not_filed(measured, update, says):
    spoken = " ".join(reads(measured, shown().model_copy(update=update)))
    assert says in spoken
    assert measured.state.pending is None and not measured.state.progress.job.readings


def test_both_leaves_in_one_log_are_refused(talk):
    talk.says("measure the leaf")
    assert talk.says("both leaves") == [talk.state.words.say("log_one_leaf")]


def test_a_log_that_nothing_waits_for_is_ignored(talk):
    assert reads(talk, shown()) == []


def test_a_single_leaf_needs_no_name(talk):
    sheet = talk.state.progress.job.sheet
    one = sheet.opening.model_copy(update={"leaves": sheet.opening.leaves[:1]})
    job = talk.state.progress.job.model_copy(update={"opening": one})
    talk.state = talk.state.model_copy(
        update={"progress": talk.state.progress.model_copy(update={"job": job})}
    )
    talk.says("measure the leaf")
    assert talk.replies[-1] == MeasureLeaf(leaf=Subject.LEFT_LEAF)
    assert talk.says("disregard")


def test_what_is_wrong_with_a_file_is_only_printed_in_spanish(measured):
    sheet = measured.state.progress.job.sheet.model_copy(update={"language": "es"})
    job = measured.state.progress.job.model_copy(update={"sheet": sheet})
    measured.state = measured.state.model_copy(
        update={"progress": measured.state.progress.model_copy(update={"job": job})}
    )
    reads(measured, LeafMeasured(leaf=Subject.LEFT_LEAF, log="l.csv", problem="no header"))
    said = [reply for reply in measured.replies if isinstance(reply, Say)]
    assert [(each.text, each.aloud) for each in said[-2:]] == [
        (measured.state.words.say("log_refused"), True),
        ("No header.", False),
    ]
