"""The bad case at a caution: it holds, and what was found wrong is kept as a fault."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from handsfree.checks.limits import load_limits
from handsfree.diagnosis.tree_loader import load_tree, shipped_trees
from handsfree.dialogue.questions.cause_search import CauseSearchQuestion
from handsfree.dialogue.questions.fault_found import FaultFoundQuestion
from handsfree.dialogue.questions.fault_place import FaultPlaceQuestion
from handsfree.dialogue.state import State
from handsfree.job.job import Job, Sheet
from handsfree.job.opening import Swing
from handsfree.journal import events as ev
from handsfree.journal.fault_events import FaultFound
from handsfree.journal.search_events import SearchStarted
from handsfree.language.interpreter import Language
from handsfree.procedure.loader import load_procedure
from handsfree.visit_record.progress import Progress, apply

from ..talk import Talk
from .door_talk import enter
from .technician import opening

LANGUAGES = {name: Language.load(language=name) for name in ("en", "es")}
REFUSALS = {
    "en": ("no", "not clear", "it is not clear", "it's not clear", "not safe", "not okay", "loose"),
    "es": ("no", "no está despejado", "no está libre", "no está bien", "flojo"),
}
EACH = [(name, said) for name, words in REFUSALS.items() for said in words]
CLEAR = {"en": "clear", "es": "despejado"}


@pytest.fixture
def at() -> Callable[..., Talk]:
    def make(key: str, lang: str = "en", procedure: str = "controller-replaced-pair") -> Talk:
        door = opening(Swing.SAME_WAY, everything=True)
        sheet = Sheet(reference="T", site="a test", technician="nobody", opening=door)
        state = State(
            procedure=load_procedure(procedure, language=lang),
            limits=load_limits("a156.19"),
            progress=Progress(job=Job.open(sheet.model_copy(update={"language": lang}))),
        )
        talk = Talk(state, LANGUAGES[lang])
        talk.begins("doubtful")
        enter(talk, key)
        return talk

    return make


@pytest.mark.parametrize(("lang", "said"), EACH)
@pytest.mark.parametrize("key", ["ladder-safe", "learn-path-clear", "power-on", "proven-dead"])
def test_a_refusal_holds_and_says_the_caution_once_more(at, lang, said, key):
    talk = at(key, lang)
    caution = talk.state.task.step.caution
    (spoken,) = talk.says(said)
    assert caution in spoken and spoken.startswith(
        {"en": "Then stop here.", "es": "Entonces alto ahí."}[lang]
    )
    assert talk.state.progress.at == key and talk.state.pending is None
    assert not talk.of(ev.CautionAcknowledged)
    talk.says(CLEAR[lang])
    assert [body.key for body in talk.of(ev.CautionAcknowledged)] == [key]


@pytest.mark.parametrize(
    ("key", "hold"),
    [
        ("power-off", "Then stay off the wires."),
        ("operator-off", "Then stop here. Say done when it is done."),
        ("people-safe", "Then stop here. Say done when it is done."),
        ("proven-dead", "Stop, and don't touch the wires."),
    ],
)
def test_no_at_a_step_that_must_not_be_skipped_holds_too(at, key, hold):
    talk = at(key)
    talk.says("clear")  # where there is a caution
    assert talk.says("no")[0].startswith(hold)
    assert talk.state.progress.at == key and key not in talk.state.progress.ended


def test_not_clear_passes_nothing_where_no_caution_waits(at):
    talk = at("opening-force:left leaf")
    before = talk.state.progress
    talk.says("not clear")
    assert talk.state.progress == before and talk.state.pending is None


def test_no_still_takes_back_what_was_said_back_before_a_caution(at):
    talk = at("latching-time:right leaf")
    talk.says("latching time six point five seconds")
    assert talk.state.progress.at == "forces-clear" and talk.state.echo is not None
    talk.says("no")
    assert talk.state.progress.at == "latching-time:right leaf" and talk.state.echo is None


@pytest.mark.parametrize("said", ["no", "negative", "not clear", "loose"])
def test_the_caution_of_a_search_holds(at, said):
    tree = next(
        tree for name in shipped_trees() if (tree := load_tree(name)).node(tree.first).caution
    )
    talk = at("opened-up")
    body = SearchStarted(tree=tree.name, sha256=tree.sha256, title=tree.title)
    progress = apply(talk.state.progress, body)
    talk.state = talk.state.model_copy(
        update={"progress": progress, "pending": CauseSearchQuestion()}
    )
    (spoken,) = talk.says(said)
    assert spoken.startswith("Then stop here.") and tree.node(tree.first).caution in spoken
    assert talk.state.progress.search.answers == ()
    assert talk.says("clear") == [tree.node(tree.first).ask]


def test_a_jog_that_is_not_clear_does_not_begin(at):
    talk = at("motor-hand:motor one")
    talk.says("motor one drives the left leaf", "affirm", "motor two drives the right leaf")
    talk.says("affirm", "motor one right hand", "short jog")
    assert talk.says("not clear") == [
        "Then no jog yet. Get everybody out of the path, then say clear, or disregard."
    ]
    assert talk.says("clear")[-1].startswith("Jog motor one to open")


# --- what no step asks for is a fault that was found


def named(talk: Talk) -> list[tuple[str, str]]:
    return [(str(body.subject), body.name) for body in talk.of(FaultFound)]


@pytest.mark.parametrize(
    ("said", "fault"),
    [
        ("cables loose", ("opening", "cable_loose")),
        ("cables are loose", ("opening", "cable_loose")),
        ("sensors loose", ("opening", "sensor_loose")),
        ("left arm loose", ("left leaf", "arm_loose")),
        ("right arm bent", ("right leaf", "arm_bent")),
        ("left hinges worn", ("left leaf", "hinge_worn")),
        ("right plate dead", ("right plate", "plate_dead")),
        ("right leaf binds", ("right leaf", "leaf_binds")),
        ("near side sign missing", ("near side", "sign_missing")),
    ],
)
def test_what_is_wrong_is_kept_as_a_fault_and_the_caution_waits(at, said, fault):
    talk = at("learn-path-clear")
    for task in talk.state.tasks:  # nothing of it is asked any more
        if task.key != "learn-path-clear":
            progress = apply(talk.state.progress, ev.StepEnded(key=task.key, outcome="done"))
            talk.state = talk.state.model_copy(update={"progress": progress})
    talk.says(said)
    assert isinstance(talk.state.pending, FaultFoundQuestion)
    spoken = talk.says("affirm")
    assert named(talk) == [fault]
    assert spoken[0] == "Fault kept." and spoken[1].startswith("Caution.")
    assert not talk.of(ev.CautionAcknowledged)


def test_a_fault_of_a_leaf_asks_which_leaf(at):
    talk = at("ladder-safe", procedure="complaint")
    talk.says("hinges worn")
    assert isinstance(talk.state.pending, FaultPlaceQuestion)
    talk.says("right", "affirm")
    assert named(talk) == [("right leaf", "hinge_worn")]


def test_several_faults_of_one_breath_are_read_back_one_after_the_other(at):
    talk = at("ladder-safe", procedure="complaint")
    assert talk.says("cables loose, left arm bent, rails missing") == ["Cable loose. Yes or no?"]
    assert talk.says("affirm") == ["Fault kept.", "Left leaf, arm bent. Yes or no?"]
    assert talk.says("affirm")[0] == "Fault kept."
    assert isinstance(talk.state.pending, FaultPlaceQuestion)
    talk.says("right", "affirm")
    assert named(talk) == [
        ("opening", "cable_loose"),
        ("left leaf", "arm_bent"),
        ("right leaf", "guide_rail_missing"),
    ]
    assert talk.state.pending is None


@pytest.mark.parametrize("refusal", ["no", "disregard"])
def test_a_fault_of_several_that_is_not_so_leaves_the_others(at, refusal):
    talk = at("ladder-safe", procedure="complaint")
    talk.says("cables loose, left arm bent")
    assert talk.says(refusal) == ["Dropped.", "Left leaf, arm bent. Yes or no?"]
    talk.says("affirm")
    assert named(talk) == [("left leaf", "arm_bent")]


def test_a_fault_of_several_whose_place_is_not_said_leaves_the_others(at):
    talk = at("ladder-safe", procedure="complaint")
    talk.says("rails missing, left arm bent")
    assert isinstance(talk.state.pending, FaultPlaceQuestion)
    assert talk.says("disregard") == ["Dropped.", "Left leaf, arm bent. Yes or no?"]
    talk.says("affirm")
    assert named(talk) == [("left leaf", "arm_bent")]


def test_a_loose_guide_rail_of_a_leaf_is_a_fault(at):
    talk = at("ladder-safe", procedure="complaint")
    assert talk.says("left rail loose") == ["Left leaf, guide rail loose. Yes or no?"]
    talk.says("affirm")
    assert named(talk) == [("left leaf", "guide_rail_loose")]


def test_several_refusals_of_which_one_has_no_name_are_still_not_half_kept(at):
    talk = at("ladder-safe")
    talk.says("cables loose, rails cracked", "affirm")
    assert named(talk) == []


def test_a_dead_plate_refuses_the_step_that_asks_whether_it_opens(at):
    talk = at("plate-opens:left plate")
    assert talk.says("right plate dead") == ["Right plate, opens the door, not OK."]
    talk.says("affirm")
    (fact,) = [body.fact for body in talk.of(ev.FactAccepted)]
    assert (fact.subject, fact.name, fact.value) == ("right plate", "plate_opens", "not_in_order")


def test_dead_sensors_refuse_the_step_that_asks_whether_they_act(at):
    talk = at("sensors-act")
    assert talk.says("sensors dead") == ["Sensors act, not OK."]


def test_a_fault_at_a_question_about_both_leaves_is_not_put_on_one(at):
    talk = at("swings-free:left leaf")
    talk.says("cables loose", "affirm")
    assert named(talk) == [("opening", "cable_loose")]
    talk.says("i found a hinge loose")
    assert isinstance(talk.state.pending, FaultPlaceQuestion)
