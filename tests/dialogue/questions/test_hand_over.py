"""Before the hand-over: a decision on every open safety item."""

from __future__ import annotations

import pytest

from handsfree.dialogue.questions.accepted_by import AcceptedByQuestion
from handsfree.dialogue.questions.hand_over import HandOverQuestion
from handsfree.dialogue.state import Say
from handsfree.job.job import Job
from handsfree.job.opening import Leaf, Side
from handsfree.journal import events as ev
from handsfree.journal.fault_events import FaultProved, FaultWorked
from handsfree.procedure.loader import parse_procedure

from ...talk import PROCEDURE, SHEET, Talk

QUESTION = HandOverQuestion
HAND_OVER = """
[[step]]
id = "opened-up"
stage = "hand-over"
prompt = "Open the way to people."
brief = "Way open."
waits = "done"
why = "The door is given back."
"""


def with_hand_over(talk: Talk) -> None:
    stage = '[[stage]]\nid = "hand-over"\ntitle = "hand over"\n'
    text = PROCEDURE.replace("[[step]]", f"{stage}\n[[step]]", 1) + HAND_OVER
    procedure = parse_procedure(text, "with-hand-over.toml", "0" * 64)
    talk.state = talk.state.model_copy(update={"procedure": procedure})


def until_asked(talk: Talk, *lines: str) -> None:
    """Repeats an answer until the decision is asked for."""
    for _ in range(8):
        if isinstance(talk.state.pending, HandOverQuestion):
            return
        talk.says(*lines)
    raise AssertionError(f"no decision was asked for at {talk.state.progress.at}")


def leaves_it(talk: Talk) -> Talk:
    """Leaves a reading as it is, without another try."""
    talk.says("skip", "no time")
    return talk


def ask(talk: Talk) -> None:
    """A left leaf that opens in 2 s, where 3.5 s are required."""
    with_hand_over(talk)
    talk.go_to("opening-time:left leaf")
    for _ in range(3):
        talk.says("two seconds", "affirm")
    until_asked(leaves_it(talk), "six seconds", "affirm")


@pytest.fixture
def asked(talk) -> Talk:
    ask(talk)
    return talk


def decided(talk: Talk) -> list[tuple[str, str, str | None]]:
    return [(body.key, body.word, body.by) for body in talk.of(ev.OpenSettled)]


def test_a_door_that_fails_is_not_handed_over_in_silence(asked):
    warning = next(r for r in reversed(asked.replies) if isinstance(r, Say))
    assert warning.role == "warning" and warning.aloud
    assert warning.text.startswith("Before you hand over: left leaf, opening time")
    assert "opened-up" not in [body.key for body in asked.of(ev.StepEntered)]


@pytest.mark.parametrize(
    "word", ["affirm", "negative", "disregard", "done", "skip", "go to the hand over", "done later"]
)
def test_there_is_no_way_around_the_decision(asked, word):
    before = asked.state.pending
    asked.says(word)
    assert asked.state.pending == before and decided(asked) == []
    assert "opened-up" not in [body.key for body in asked.of(ev.StepEntered)]


def test_off_and_tagged_goes_to_the_hand_over_which_says_so(asked):
    spoken = asked.says("off and tagged")
    assert spoken[0] == "Handed over with: operator off and tagged."
    assert spoken[-1] == "Open the way to people."
    assert [(key, word) for key, word, _ in decided(asked)] == [
        ("left leaf/opening time", "tagged_out"),
        ("left leaf/opening energy", "tagged_out"),
    ]


def test_accepted_by_the_owner_asks_for_the_name(asked):
    assert asked.says("accepted by owner") == ["Who accepts it? Say the name."]
    assert isinstance(asked.state.pending, AcceptedByQuestion)
    asked.says("mrs example of the building office")
    by = "mrs example of the building office"
    assert decided(asked) == [
        ("left leaf/opening time", "accepted", by),
        ("left leaf/opening energy", "accepted", by),
    ]
    assert asked.state.progress.at == "opened-up"


def test_put_right_leads_to_the_proof_and_back(asked):
    spoken = asked.says("put right")
    assert spoken == [
        "Then prove it.",
        "Time the left leaf to backcheck and say the opening time.",
        "Eighty degrees is thirty five and a half inches at the latch edge of the left leaf, "
        "straight out from the frame.",
    ]
    assert asked.state.progress.at == "opening-time:left leaf"
    asked.says("five seconds", "affirm")
    assert asked.state.progress.at == "opened-up" and decided(asked) == []


def test_a_proof_that_fails_asks_again(asked):
    asked.says("put right", "two seconds", "affirm")
    until_asked(asked, "next")
    assert decided(asked) == []


def test_what_was_seen_out_of_order_wants_its_decision_too(talk):
    with_hand_over(talk)
    talk.go_to("swings-free:left leaf")
    talk.says("not in order", "affirm", "it binds")
    talk.go_to("opening-time:left leaf")
    until_asked(talk, "six seconds", "affirm")
    assert talk.state.pending.item.key == "left leaf/swings_freely"
    assert talk.says("put right")[0].startswith("Left leaf, swings freely, not OK. What was done")
    talk.says("adjusted")
    assert talk.state.progress.at == "swings-free:left leaf"
    talk.says("in order", "affirm")
    assert talk.state.progress.at != "swings-free:left leaf"
    assert [fault.proved for fault in talk.state.progress.faults] == ["observation"]


def test_a_jump_to_the_hand_over_asks_first(talk):
    with_hand_over(talk)
    talk.says("it slams", "affirm", "skip")
    (asked,) = talk.says("go to the hand over")
    assert asked.startswith("Before you hand over: The door slams")
    assert talk.says("put right")[0].startswith("The door slams. What was done")
    assert talk.says("adjusted")[-1].startswith("Check it now. The door slams")
    assert talk.state.progress.at != "opened-up"
    spoken = talk.says("affirm")
    assert sum("must not be skipped" in said for said in spoken) == 1
    assert talk.of(FaultProved)[-1].key == "search/slams"
    assert talk.state.progress.at == "opened-up"


def test_a_complaint_that_is_not_proved_is_asked_for_again(talk):
    with_hand_over(talk)
    talk.says("it slams", "affirm", "skip", "go to the hand over", "put right", "adjusted")
    spoken = talk.says("negative")
    assert spoken[0] == "It stays on the list." and spoken[-1].startswith("Before you hand over")
    assert talk.state.progress.at != "opened-up"


def test_a_reading_that_failed_and_is_not_judged_any_more_wants_its_decision(talk):
    """Of a leaf whose size nobody knows one second fails, and five seconds are not judged."""
    leaves = tuple(Leaf(name=side) for side in Side)
    opening = SHEET.opening.model_copy(update={"leaves": leaves})
    job = Job.open(SHEET.model_copy(update={"opening": opening}))
    progress = talk.state.progress.model_copy(update={"job": job})
    talk.state = talk.state.model_copy(update={"progress": progress})
    with_hand_over(talk)
    talk.go_to("opening-time:left leaf")
    talk.says("one second", "one second", "affirm", "five seconds", "affirm")
    assert talk.state.progress.ended["opening-time:left leaf"] == "done"
    until_asked(talk, "skip", "no time")
    assert talk.state.pending.item.key == "left leaf/opening time"
    talk.says("put right")
    assert talk.state.progress.at == "opening-time:left leaf"


def test_a_step_of_the_hand_over_is_not_entered_backward_without_a_decision(talk):
    with_hand_over(talk)
    talk.go_to("opening-time:left leaf")
    for said in ("five seconds", "six seconds", "five seconds", "six seconds"):
        talk.says(said, "affirm")
    assert talk.state.progress.at == "opened-up"
    talk.says("i found the left arm loose", "affirm", "done", "go back")
    assert isinstance(talk.state.pending, HandOverQuestion)
    assert [body.key for body in talk.of(ev.StepEntered)].count("opened-up") == 1


def test_a_decision_does_not_cover_a_fault_that_comes_back(talk):
    with_hand_over(talk)
    talk.says("i found the left arm loose", "affirm", "go to the hand over", "accepted by owner")
    talk.says("mrs example")
    assert "left leaf/arm_loose" in talk.state.progress.settled
    talk.says("replaced the arm", "affirm", "i found the left arm loose", "affirm")
    assert "left leaf/arm_loose" not in talk.state.progress.settled
    assert len(talk.state.progress.faults) == 2
    assert [fault.left for fault in talk.state.progress.faults] == ["accepted", None]


def test_a_door_in_order_is_handed_over_without_a_question(talk):
    with_hand_over(talk)
    talk.go_to("opening-time:left leaf")
    for said in ("five seconds", "six seconds", "five seconds", "six seconds"):
        talk.says(said, "affirm")
    assert talk.state.progress.at == "opened-up"


def test_a_decision_is_not_asked_for_again_at_the_end(asked):
    asked.says("off and tagged", "done")
    keys = [key for key, _, _ in decided(asked)]
    for _ in range(8):
        if asked.state.pending is not None:
            assert asked.state.pending.item.key not in keys
            asked.says("done later")
    assert asked.state.progress.closed


@pytest.fixture
def close(talk) -> Talk:
    """A left leaf that failed and is now too close to call: nothing has proved it right."""
    with_hand_over(talk)
    talk.go_to("opening-time:left leaf")
    talk.says("two seconds", "affirm", "3.8 seconds", "affirm")
    until_asked(leaves_it(talk), "six seconds", "affirm")
    return talk


def test_what_failed_and_is_too_close_to_call_now_needs_a_decision(close):
    assert close.state.pending.item.kind == "close"
    warning, more = [r for r in close.replies if isinstance(r, Say)][-2:]
    assert warning.text == (
        "Before you hand over: left leaf, opening time failed, and is too close to call now. "
        "Put right, taken out of service, or accepted by owner?"
    )
    assert more.text == "Or say measure again."
    assert "opened-up" not in [body.key for body in close.of(ev.StepEntered)]


def test_measuring_again_counts_as_no_work_and_proves_it(close):
    assert close.says("measure again")[0] == "Then prove it."
    assert close.state.progress.at == "opening-time:left leaf"
    assert close.of(FaultWorked) == []
    close.says("4.4 seconds", "affirm", "4.4 seconds", "affirm")
    assert close.state.progress.at == "opened-up" and decided(close) == []


def test_what_is_too_close_to_call_is_accepted_by_name(close):
    close.says("accepted by owner", "mrs example")
    assert ("left leaf/opening time", "accepted", "mrs example") in decided(close)
    assert close.state.progress.at == "opened-up"


def test_a_reading_that_was_too_close_from_the_first_is_left_to_the_end(talk):
    """Nothing failed: it is asked about when the visit closes, as before."""
    with_hand_over(talk)
    talk.go_to("opening-time:left leaf")
    talk.says("3.8 seconds", "affirm")
    leaves_it(talk)
    for _ in range(8):
        if talk.state.progress.at == "opened-up":
            break
        talk.says("six seconds", "affirm")
    assert talk.state.progress.at == "opened-up"


def test_measuring_again_is_no_answer_to_what_was_seen(talk):
    with_hand_over(talk)
    talk.says("i found the left arm loose", "affirm", "go to the hand over")
    before = talk.state.pending
    talk.says("measure again")
    assert talk.state.pending == before


# --- the words of a decision at any step


@pytest.mark.parametrize("said", ["taken out of service", "off and tagged", "accepted by owner"])
def test_a_decision_can_be_made_at_any_step_once_something_is_open(talk, said):
    with_hand_over(talk)
    talk.go_to("opening-time:left leaf")
    assert talk.says(said)[0].startswith("No fault is open.")
    talk.says("i found the left arm loose", "affirm")
    (spoken,) = talk.says(said)
    assert spoken.startswith("Before you go on: Left leaf, arm loose.".replace("Left", "left"))
    assert isinstance(talk.state.pending, HandOverQuestion)
    assert talk.of(ev.OpenSettled) == []


def test_out_of_service_at_a_step_leaves_out_all_before_the_hand_over(talk):
    with_hand_over(talk)
    talk.go_to("opening-time:left leaf")
    talk.says("i found the left arm loose", "affirm", "taken out of service")
    spoken = talk.says("taken out of service")
    assert spoken[0] == "Noted: operator off and tagged."
    assert talk.state.progress.at == "opened-up"
    assert [(body.key, body.word) for body in talk.of(ev.OpenSettled)] == [
        ("left leaf/arm_loose", "tagged_out")
    ]


def test_a_visit_that_hands_nothing_over_takes_no_decision(talk):
    talk.go_to("opening-time:left leaf")
    talk.says("i found the left arm loose", "affirm", "taken out of service")
    assert not isinstance(talk.state.pending, HandOverQuestion)
