"""Where answers lead in a visit: branches, loops with a count, holds, gates, and breaks in them."""

from __future__ import annotations

from collections.abc import Callable
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from handsfree.checks.limits import load_limits
from handsfree.dialogue import state_machine
from handsfree.dialogue.questions.cause_search import CauseSearchQuestion
from handsfree.dialogue.questions.hand_over import HandOverQuestion
from handsfree.dialogue.state import Keep, Say, State
from handsfree.job.job import Job, Sheet
from handsfree.job.opening import Swing
from handsfree.job.reading import Subject
from handsfree.journal import events as ev
from handsfree.language.interpreter import Language
from handsfree.procedure.loader import load_procedure
from handsfree.procedure.step import Procedure
from handsfree.procedure.task_selection import tasks
from handsfree.visit_record.progress import Progress, replay

from ..talk import Talk
from .random_walk import Manner, walk
from .technician import answer_to, opening

PAIR = load_procedure("controller-replaced-pair")
YEARLY = load_procedure("yearly-service")
LIMITS = load_limits("a156.19")


def start(language: Language, procedure: Procedure, swing: Swing = Swing.SAME_WAY) -> Talk:
    door = opening(swing, everything=True)
    sheet = Sheet(reference="T", site="a test", technician="nobody", opening=door)
    progress = Progress(job=Job.open(sheet))
    talk = Talk(State(procedure=procedure, limits=LIMITS, progress=progress), language)
    talk.begins()
    return talk


def until(talk: Talk, key: str) -> Talk:
    """Walks on with a door in order, until a task is at hand and its caution is acknowledged."""
    for _ in range(400):
        task = talk.state.task
        assert task is not None
        caution = task.step.caution is not None and key not in talk.state.progress.cautioned
        if talk.state.progress.at == key and talk.state.pending is None and not caution:
            return talk
        talk.says(answer_to(talk.state, "slams"))
    raise AssertionError(f"{key} was not met")


@pytest.fixture
def at(language: Language) -> Callable[..., Talk]:
    def make(key: str, procedure: Procedure = PAIR) -> Talk:
        return until(start(language, procedure), key)

    return make


def refuse(talk: Talk, *more: str) -> list[str]:
    return talk.says("not in order", "affirm", "it binds", *more)


def place(talk: Talk) -> str | None:
    return talk.state.progress.at


def entered(talk: Talk) -> list[str]:
    return [body.key for body in talk.of(ev.StepEntered)]


def after_a_break(talk: Talk) -> Talk:
    """The same visit, folded from its journal and resumed."""
    sheet = talk.state.progress.job.sheet
    progress = replay([opened(sheet), *talk.kept])
    assert progress == talk.state.progress
    state = State(procedure=talk.state.procedure, limits=LIMITS, progress=progress)
    resumed = Talk(state, talk.language, kept=list(talk.kept))
    resumed.resumes()
    return resumed


def opened(sheet: Sheet) -> ev.VisitOpened:
    names = {"procedure": "p", "procedure_sha256": "0", "limits": "l", "limits_sha256": "0"}
    return ev.VisitOpened(
        sheet=sheet, model="none", version="0", ears="typed", mouth="none", **names
    )


def test_a_leaf_that_binds_leads_to_its_remedy_and_the_proof(at) -> None:
    talk = at("swings-free:left leaf")
    refuse(talk)
    assert place(talk) == "leaf-freed:left leaf"
    talk.says("clear", "done")
    assert place(talk) == "swings-free:left leaf"
    talk.says("in order", "affirm", "adjusted")
    assert place(talk) == "arm-fixed:left leaf"
    assert "leaf-freed:right leaf" not in [task.key for task in talk.state.tasks]


def test_a_loop_has_a_count_and_ends_in_a_hold(at) -> None:
    talk = at("swings-free:left leaf")
    for _ in range(2):
        refuse(talk, "clear", "done")
    (*_, asked) = refuse(talk)
    assert asked == (
        "Before you go on: left leaf, swings freely, not OK."
        " Put right, taken out of service, or accepted by owner?"
    )
    for word in ("skip", "done", "go to the times", "go to the hand over", "disregard"):
        talk.says(word)
        assert isinstance(talk.state.pending, HandOverQuestion), word
    talk.says("put right", "repaired")
    assert place(talk) == "swings-free:left leaf"
    talk.says("in order", "affirm")
    assert place(talk) == "arm-fixed:left leaf"


def binds(talk: Talk) -> Talk:
    """Leaves the left leaf binding, by its hold, with the owner's word."""
    for _ in range(2):
        refuse(talk, "clear", "done")
    refuse(talk)
    talk.says("accepted by owner", "mrs example")
    return talk


def test_no_learn_cycle_while_a_leaf_binds(at) -> None:
    talk = binds(at("swings-free:left leaf"))
    assert place(talk) == "arm-fixed:left leaf"
    until(talk, "backcheck-angle:left leaf")
    ended = talk.state.progress.ended
    assert not {"learn-path-clear", "learn", "learn-complete"} & set(entered(talk))
    for key in ("learn-path-clear", "learn", "learn-travel:left leaf", "learn-complete"):
        assert ended[key] == "left_out"


@pytest.mark.parametrize("jump", ["go to the learn cycle", "go back"])
def test_no_word_leads_past_the_gate(at, jump: str) -> None:
    talk = binds(at("swings-free:left leaf"))
    until(talk, "backcheck-angle:left leaf")
    spoken = talk.says(*[jump] * 4)
    assert not {"learn-path-clear", "learn", "learn-complete"} & set(entered(talk))
    assert any("Left out" in said for said in spoken) or place(talk) != "learn"


def test_what_was_jumped_over_comes_first(language: Language) -> None:
    talk = start(language, PAIR)
    spoken = talk.says("go to the learn cycle")
    assert "This comes first: left leaf, swings freely." in spoken or any(
        said.startswith("This comes first") for said in spoken
    )
    assert place(talk) == "swings-free:left leaf"


def test_put_right_at_the_gate_proves_it_and_opens_it(language: Language) -> None:
    talk = start(language, PAIR)
    talk.says("go to the by hand checks")
    refuse(talk, "clear", "skip", "no time")
    (*_, asked) = talk.says("go to the learn cycle")
    while place(talk) == "swings-free:right leaf":
        talk.says("in order", "affirm")
        (*_, asked) = talk.says("go to the learn cycle")
    assert asked.startswith("No learn cycle with this open: left leaf, swings freely, not OK.")
    talk.says("put right", "repaired", "in order", "affirm")
    assert place(talk) == "arm-fixed:left leaf"
    until(talk, "learn")


def test_a_failed_learn_cycle_leads_to_crossed_motors_and_is_learned_again(at) -> None:
    talk = at("learn-travel:left leaf")
    talk.says("not in order", "affirm", "the right leaf moved", "negative")
    assert place(talk) == "learn-stopped"
    talk.says("done")
    talk.says("not in order", "affirm", "the cables are crossed")
    assert place(talk) == "motors-off"
    talk.says("clear", "proved dead", "done", "clear", "done")
    assert place(talk) == "motors-checked"
    talk.says("in order", "affirm", "repaired", "done")
    assert place(talk) == "learn-path-clear"
    assert "learn-path-clear" not in talk.state.progress.cautioned  # it is said once more
    until(talk, "backcheck-angle:left leaf")
    assert talk.state.progress.job.fact(Subject.OPENING, "motors_right") == "in_order"
    assert entered(talk).count("learn") == 2


def test_motors_that_are_still_crossed_are_locked_out_once_more(at) -> None:
    """What depends on an answer is walked again when the answer is given again, cautions too."""
    talk = at("learn-travel:left leaf")
    talk.says("not in order", "affirm", "the right leaf moved", "negative", "done")
    for _ in range(2):
        talk.says("not in order", "affirm", "the cables are crossed")
        assert place(talk) == "motors-off"
        assert "motors-off" not in talk.state.progress.cautioned
        talk.says("clear", "proved dead", "done", "clear", "done")
        assert place(talk) == "motors-checked"


def test_a_battery_that_comes_up_while_the_motors_are_locked_out_interrupts(at) -> None:
    """The power was on in between, and is proved off again."""
    talk = at("learn-travel:left leaf")
    talk.says("not in order", "affirm", "the right leaf moved", "negative", "done")
    talk.says("not in order", "affirm", "the cables are crossed", "clear", "proved dead")
    assert place(talk) == "motors-mended"
    talk.says("it has a battery", "affirm")
    assert place(talk) == "battery-off"
    talk.says("done")
    assert place(talk) == "motors-off"
    talk.says("clear", "proved dead")
    assert place(talk) == "motors-mended"
    talk.says("done", "clear", "done")
    assert place(talk) == "motors-checked"
    assert talk.state.progress.ended["battery-off"] == "done"


def test_the_search_leads_to_the_motors_too(at) -> None:
    talk = until(at("learn-travel:left leaf"), "learn-complete")
    talk.says("not in order", "affirm", "it shows an error", "affirm")
    assert isinstance(talk.state.pending, CauseSearchQuestion)
    (asked,) = talk.says("no", "no")
    assert "the motors are crossed" in asked
    talk.says("done", "clear", "done", "yes")
    assert place(talk) == "learn-travel:left leaf"
    until(talk, "backcheck-angle:left leaf")
    assert not any(fault.open for fault in talk.state.progress.faults)


def test_after_a_failed_learn_cycle_nothing_goes_on_before_a_decision(at) -> None:
    talk = at("learn-complete")
    for _ in range(2):
        talk.says("not in order", "affirm", "an error", "negative")
        until(talk, "learn-complete")
    talk.says("not in order", "affirm", "an error", "negative")
    assert isinstance(talk.state.pending, HandOverQuestion)
    assert "backcheck-angle:left leaf" not in entered(talk)
    talk.says("accepted by owner", "mrs example")
    assert place(talk) == "backcheck-angle:left leaf"


def test_off_and_tagged_leaves_out_all_but_the_hand_over(at) -> None:
    talk = at("swings-free:left leaf")
    for _ in range(2):
        refuse(talk, "clear", "done")
    refuse(talk)
    talk.says("off and tagged")
    assert place(talk) == "opened-up"
    left = {body.outcome for body in talk.of(ev.StepEnded) if body.reason is not None}
    assert left == {"left_out"}
    while not talk.state.progress.closed:
        talk.says(answer_to(talk.state, "slams"))
    assert "1 of 1" not in talk.replies[-2].text
    assert "left leaf, swings freely" in "".join(r.text for r in talk.replies if isinstance(r, Say))


@pytest.mark.slow
def test_put_right_in_vain_three_times_wants_another_decision(at) -> None:
    talk = at("power-fails", YEARLY)
    talk.says("not in order", "affirm", "it stays open")
    for _ in range(3):
        talk.says("put right", "repaired", "clear", "not in order", "affirm", "still open")
        assert isinstance(talk.state.pending, HandOverQuestion)
    spoken = talk.says("put right")
    assert spoken[0].startswith("That was tried three times")
    talk.says("accepted by owner", "mrs example")
    assert place(talk) == "power-returns"


def test_what_the_owner_noticed_is_searched_for(at) -> None:
    talk = at("owner-tells", YEARLY)
    talk.says("not in order", "affirm", "it bangs")
    assert place(talk) == "noticed"
    talk.says("it slams", "affirm", "clear")
    spoken = talk.says("not in order", "affirm", "it bangs")
    assert spoken[-1] == "The door slams. Search for the cause?"


def test_the_daily_walk_names_what_it_found(language: Language) -> None:
    talk = start(language, load_procedure("daily-check"))
    until(talk, "sensors-clean")
    refuse(talk)
    until(talk, "what-to-do")
    said = [reply.text for reply in talk.replies if isinstance(reply, Say)]
    assert any(text.startswith("You found these not OK: ") and "sensors" in text for text in said)
    good = start(language, load_procedure("daily-check"))
    while not good.state.progress.closed:
        good.says(answer_to(good.state, "slams"))
    assert "what-to-do" not in entered(good)


HOLDS = [
    ("leaf-freed:left leaf", ()),
    ("swings-free:left leaf", ("clear", "done")),
]


@pytest.mark.parametrize(("where", "more"), HOLDS)
def test_a_break_in_a_branch_changes_nothing(at, where: str, more: tuple[str, ...]) -> None:
    talk = at("swings-free:left leaf")
    refuse(talk, *more)
    assert place(after_a_break(talk)) == where
    resumed = after_a_break(talk)
    assert resumed.state.tasks == talk.state.tasks


def test_a_break_at_a_hold_asks_for_the_same_decision(at) -> None:
    talk = at("swings-free:left leaf")
    for _ in range(2):
        refuse(talk, "clear", "done")
    refuse(talk)
    resumed = after_a_break(talk)
    assert resumed.state.pending == talk.state.pending
    for one in (talk, resumed):
        one.says("put right", "repaired", "in order", "affirm")
    assert place(talk) == place(resumed) == "arm-fixed:left leaf"


@settings(max_examples=10)
@given(
    name=st.sampled_from(["controller-replaced-pair", "yearly-service", "daily-check"]),
    seed=st.integers(0, 10_000),
    cut=st.floats(0, 1),
)
@pytest.mark.slow
def test_a_visit_that_is_killed_stands_at_the_same_place(name: str, seed: int, cut: float) -> None:
    """Killed at any event: the fold is the same, and the visit goes on to its end from there."""
    procedure = load_procedure(name)
    journal = walk(procedure, Random(seed), Manner(bad=0.4)).journal
    left = journal[: 2 + int(cut * (len(journal) - 3))]
    progress = replay(left)
    assert replay(left) == progress and progress.at is not None
    state = State(procedure=procedure, limits=LIMITS, progress=progress)
    first, replies = state_machine.resume(state, 0.0)
    asked = [(reply.text, reply.role) for reply in replies if isinstance(reply, Say)]
    kept = [reply.body for reply in replies if isinstance(reply, Keep)]
    again = State(procedure=procedure, limits=LIMITS, progress=replay([*left, *kept]))
    second, more = state_machine.resume(again, 0.0)
    assert second.progress.at == first.progress.at
    assert second.progress.branches == first.progress.branches
    assert second.pending == first.pending
    said = [(reply.text, reply.role) for reply in more if isinstance(reply, Say)]
    entered_now = any(isinstance(body, ev.StepEntered) for body in kept)  # then it is brief
    assert entered_now or said[-1:] == asked[-1:]


def to_hand_over(talk: Talk) -> Talk:
    """Walks on until the hand-over, or until something is asked before it."""
    for _ in range(400):
        pending, key = talk.state.pending, talk.state.progress.at or ""
        if isinstance(pending, HandOverQuestion) or key == "opened-up":
            return talk
        talk.says(answer_to(talk.state, "slams"))
    raise AssertionError("the hand-over was not met")


def test_a_motor_without_a_hand_is_not_handed_over_without_a_decision(at) -> None:
    talk = at("motor-hand:motor two")
    talk.says("skip", "the label is gone")
    to_hand_over(talk)
    assert isinstance(talk.state.pending, HandOverQuestion)
    assert "motor two, hand not recorded" in str(talk.replies[-1])
    for word in ("affirm", "done", "skip", "disregard", "go to the hand over"):
        talk.says(word)
        assert isinstance(talk.state.pending, HandOverQuestion)
    talk.says("accepted by owner", "mrs example")
    assert place(talk) == "opened-up"
    assert talk.state.progress.settled["motor-hand:motor two"] == "accepted"


def test_a_hand_that_was_skipped_is_recorded_before_the_hand_over(at) -> None:
    talk = at("motor-hand:motor two")
    talk.says("skip", "the label is gone")
    to_hand_over(talk)
    assert talk.says("put right")[0].startswith("Which hand is motor two")
    talk.says("right hand", "affirm")
    assert place(talk) == "opened-up" and talk.state.progress.settled == {}


def test_a_hand_that_was_told_at_another_step_is_recorded(at) -> None:
    talk = at("motor-hand:motor two")
    talk.says("skip", "the label is gone", "motor two right hand", "affirm")
    to_hand_over(talk)
    assert place(talk) == "opened-up"


def test_a_hand_that_was_jumped_over_comes_before_the_hand_over(at) -> None:
    talk = at("motor-leaf:motor one")
    (asked, *_) = talk.says("go to the hand over")
    assert asked == "This comes first: Which leaf has motor one."
    assert place(talk) == "motor-leaf:motor one"
    assert "opened-up" not in entered(talk)


@pytest.mark.slow
def test_an_arm_is_asked_for_where_the_procedure_says_so(language) -> None:
    talk = until(start(language, load_procedure("new-installation")), "arm-type:left leaf")
    talk.says("push", "affirm")
    left, right = talk.state.progress.job.opening.leaves
    assert left.features == {"arm_type": "push", "arm_side": "push_side"}
    assert right.features == {} and place(talk) == "arm-type:right leaf"
    talk.says("skip", "no ladder")
    to_hand_over(talk)
    assert "right leaf, arm not recorded" in str(talk.replies[-1])


def test_an_arm_of_the_job_file_is_not_asked_for(language) -> None:
    door = opening(Swing.SAME_WAY, everything=False)
    leaf = door.leaves[0].model_copy(update={"features": {"arm_type": "pull"}})
    sheet = Sheet(reference="T", site="a test", technician="nobody", opening=door.with_leaf(leaf))
    keys = [each.key for each in tasks(load_procedure("new-installation"), Job.open(sheet))]
    assert "arm-type:right leaf" in keys and "arm-type:left leaf" not in keys


def until_a_decision(talk: Talk) -> str:
    """Walks on until a decision is asked for; what was asked."""
    for _ in range(40):
        if isinstance(talk.state.pending, HandOverQuestion):
            return talk.says("say again")[-1]
        talk.says(answer_to(talk.state, "slams"))
    raise AssertionError("no decision was asked for")


@pytest.mark.parametrize("said", ["left leaf binds", "i found the left leaf binds"])
def test_a_leaf_that_was_found_to_bind_late_closes_the_gate_of_the_learn_cycle(at, said) -> None:
    talk = at("leaves-shut")
    talk.says(said, "affirm")
    assert place(talk) == "leaves-shut"
    asked = until_a_decision(talk)
    assert asked.startswith("No learn cycle with this open: left leaf, leaf binds.")
    assert "learn" not in entered(talk)
    talk.says("put right", "repaired")
    assert place(talk) == "swings-free:left leaf"
    talk.says("yes", "affirm")
    assert place(talk) == "learn-path-clear"


def test_a_leaf_that_binds_and_was_accepted_is_not_learned(at) -> None:
    talk = at("leaves-shut")
    talk.says("left leaf binds", "affirm")
    until_a_decision(talk)
    talk.says("accepted by owner", "mrs example")
    assert "learn" not in entered(talk)
    assert talk.state.progress.ended["learn"] == "left_out"


def test_a_skipped_force_is_decided_on_before_the_hand_over(at) -> None:
    talk = at("opening-force:left leaf")
    talk.says("skip", "no gauge")
    to_hand_over(talk)
    assert isinstance(talk.state.pending, HandOverQuestion)
    assert str(talk.replies[-1].text) == (
        "Before you hand over: not measured: left leaf, opening force."
        " Put right, taken out of service, or accepted by owner?"
    )
    for word in ("affirm", "done", "skip", "disregard", "go to the hand over"):
        talk.says(word)
        assert isinstance(talk.state.pending, HandOverQuestion)
    assert talk.says("put right")[0].startswith("Stop the left leaf with the gauge")
    talk.says("ten pounds", "affirm")
    assert place(talk) == "opened-up" and talk.state.progress.settled == {}


def test_one_decision_covers_all_that_was_skipped(at) -> None:
    talk = at("opening-force:left leaf")
    for _ in range(2):
        talk.says("skip", "no gauge")
    to_hand_over(talk)
    talk.says("accepted by owner", "mrs example")
    assert place(talk) == "opened-up"
    assert talk.state.progress.settled == {
        "opening-force:left leaf": "accepted",
        "closing-force:left leaf": "accepted",
    }
