"""A job file with only a name: the visit asks what it needs, and the steps follow the answers."""

from __future__ import annotations

import pytest

from handsfree.dialogue.door_survey import features_that_matter, first_missing
from handsfree.dialogue.questions.door_feature import DoorFeatureQuestion
from handsfree.dialogue.questions.fact import FactQuestion
from handsfree.job.door_feature import FEATURES, UNKNOWN
from handsfree.job.feature_values import opening_feature
from handsfree.job.opening import Swing
from handsfree.journal.events import StepEnded
from handsfree.language.door_words import value_name
from handsfree.procedure.loader import load_procedure, shipped_procedures
from handsfree.visit_record.progress import apply

from ..talk import Talk
from .door_talk import NAME_ALONE, TOLD, at_the_door, enter

YES = {"en": ("yes", "affirm"), "es": ("sí", "afirmativo")}
DONT_KNOW = {"en": "I don't know", "es": "no sé"}
SWINGS = {
    Swing.SINGLE: {"en": "single leaf", "es": "una sola hoja"},
    Swing.SAME_WAY: {"en": "same way", "es": "mismo sentido"},
    Swing.DOUBLE_EGRESS: {"en": "double egress", "es": "doble egreso"},
}


def survey(talk: Talk, language: str, swing: Swing, *, knows: bool) -> list[str]:
    """Answers until the first step; returns the features that were asked for."""
    asked: list[str] = []
    yes, affirm = YES[language]
    w = talk.state.words
    while isinstance(talk.state.pending, DoorFeatureQuestion):
        name = talk.state.pending.feature
        asked.append(name)
        assert len(asked) < 2 * len(FEATURES)
        feature = FEATURES[name]
        if name == "swing":
            talk.says(SWINGS[swing][language])
        elif not knows and not feature.known:
            talk.says(DONT_KNOW[language])
        elif feature.yes_or_no:
            talk.says(yes)
        else:
            talk.says(value_name(w, name, feature.values[0]))
        if isinstance(talk.state.pending, FactQuestion):
            talk.says(affirm)
    return asked


@pytest.mark.slow
@pytest.mark.parametrize("swing", Swing)
@pytest.mark.parametrize("procedure", shipped_procedures())
@pytest.mark.parametrize("language", ["en", "es"])
def test_a_name_alone_leads_to_the_first_step(language, procedure, swing):
    for knows in (True, False):
        talk, _ = at_the_door(NAME_ALONE, procedure, language)
        asked = survey(talk, language, swing, knows=knows)
        assert len(asked) == len(set(asked))
        assert set(asked) <= features_that_matter(talk.state.procedure)
        assert ("astragal" in asked) <= (swing is not Swing.SINGLE)
        assert talk.state.task is not None and talk.state.pending is None
        opening = talk.state.progress.job.opening
        assert opening.swing is swing
        assert len(opening.leaves) == len(opening.motors) == (1 if swing is Swing.SINGLE else 2)
        for name in asked:
            value = opening_feature(opening, name)
            assert (value == UNKNOWN) is (not knows and not FEATURES[name].known)


def test_a_door_that_is_told_is_not_asked_about():
    for procedure in shipped_procedures():
        talk, _ = at_the_door(TOLD, procedure)
        assert talk.state.task is not None and talk.state.pending is None


def test_only_what_a_step_depends_on_is_asked():
    daily = features_that_matter(load_procedure("daily-check"))
    assert {"lock", "sensors", "guide_rails", "fire_rated"} <= daily
    assert not {"flush_bolts", "power_supply", "battery_backup"} & daily
    talk, _ = at_the_door(NAME_ALONE)
    assert first_missing(talk.state.procedure, talk.state.progress.job) == "swing"


def test_what_the_survey_asks_is_not_asked_again():
    """The lock and the swing have steps of their own where the job file tells them."""
    talk, _ = at_the_door(NAME_ALONE)
    survey(talk, "en", Swing.SAME_WAY, knows=True)
    told, _ = at_the_door(TOLD)
    keys = [{task.key for task in each.state.tasks} for each in (talk, told)]
    assert not {"swing", "lock"} & keys[0] and {"swing", "lock"} <= keys[1]


def steps(talk: Talk) -> set[str]:
    return {task.step.id for task in talk.state.tasks}


@pytest.mark.parametrize(
    ("said", "appears"),
    [
        ("the lock is a magnetic lock", {"magnetic-lock-releases", "magnetic-lock-without-power"}),
        ("the lock is delayed egress", {"delayed-egress", "delayed-egress-without-power"}),
        ("the lock is fail safe", {"fail-safe-strike", "strike-releases"}),
        ("this is a fire door", {"fire-release"}),
        ("it has sensors", {"sensors-act", "sensors-found"}),
        ("the flush bolts are automatic", {"automatic-bolts"}),
        ("it has an astragal", {"latch-order"}),
        ("the power supply is a plug", {"plug-in-hand"}),
        ("it has a battery", {"battery-off"}),
        ("the outside has a card reader", {"outside-switch-opens"}),
    ],
)
def test_steps_follow_what_is_said_at_any_step(said, appears):
    talk, _ = at_the_door(TOLD)
    enter(talk, "hinge-side:left leaf")
    before = steps(talk)
    spoken = talk.says(said, "affirm")
    assert appears <= steps(talk) - before
    assert any(line.startswith("That adds") for line in spoken)
    assert talk.state.progress.at == "hinge-side:left leaf"


def test_what_was_said_can_be_changed():
    talk, _ = at_the_door(TOLD)
    talk.says("this is a fire door", "affirm")
    assert "fire-release" in steps(talk)
    talk.says("this is not a fire door", "affirm")
    assert "fire-release" not in steps(talk)


def test_a_fire_label_that_nobody_knows_of_counts_as_one():
    talk, _ = at_the_door("\n".join(x for x in TOLD.splitlines() if "fire_rated" not in x))
    assert "fire-release" not in steps(talk)
    talk.says("I don't know")
    assert "fire-release" in steps(talk)


def test_a_motion_sensor_takes_the_door_out_of_the_low_energy_limits():
    talk, _ = at_the_door(TOLD)
    spoken = talk.says("the outside has a motion sensor", "affirm")
    assert any("motion sensor opens this door" in line for line in spoken)


def test_the_angle_of_a_step_is_said_as_a_distance():
    talk, _ = at_the_door(TOLD)
    talk.says("left leaf width 36 inches", "affirm")
    for step, distance in (
        ("opening-time:left leaf", "thirty five and a half inches"),
        ("latching-time:left leaf", "six and a quarter inches"),
    ):
        enter(talk, step)
        assert distance in talk.says("say again")[-1]
    enter(talk, "opening-time:right leaf")
    assert not any("inches" in line for line in talk.says("say again"))


@pytest.mark.parametrize(
    ("language", "said", "told"),
    [
        ("en", "how far is ten degrees", "Ten degrees is six and a quarter inches"),
        (
            "en",
            "how far is 80 degrees on the left leaf",
            "Eighty degrees is thirty five and a half",
        ),
        ("es", "cuánto es diez grados", "Diez grados son seis pulgadas y un cuarto"),
    ],
)
def test_how_far_an_angle_is(language, said, told):
    talk, _ = at_the_door(TOLD, language=language)
    width = {
        "en": ("left leaf width 36 inches", "affirm"),
        "es": ("hoja izquierda ancho 36 pulgadas", "afirmativo"),
    }
    missing = talk.says(said)
    assert missing == [talk.state.words.say("angle_no_width")]
    talk.says(*width[language])
    (spoken,) = talk.says(said)
    assert spoken.startswith(told)


def test_past_ninety_degrees_there_is_no_such_distance():
    talk, _ = at_the_door(TOLD)
    assert talk.says("how far is 95 degrees") == ["I can say that for one to ninety degrees."]


def test_a_step_that_comes_up_late_is_asked_before_the_hand_over():
    """What the lock is was told wrong, and nobody went back to the latch."""
    talk, _ = at_the_door(TOLD)
    for task in talk.state.tasks:
        if task.step.stage != "hand-over" and task.key != "cycles-in-order":
            progress = apply(talk.state.progress, StepEnded(key=task.key, outcome="done"))
            talk.state = talk.state.model_copy(update={"progress": progress})
    enter(talk, "cycles-in-order")
    talk.says("the lock is a delayed egress", "affirm")
    talk.says("yes", "affirm")
    assert talk.state.progress.at == "delayed-egress"
    talk.says("yes", "affirm")
    assert talk.state.progress.at == "delayed-egress-without-power"
    talk.says("yes", "affirm")
    assert talk.state.progress.at == "delayed-egress-alarm"
    talk.says("pass", "affirm")
    assert talk.state.progress.at == "opened-up"
