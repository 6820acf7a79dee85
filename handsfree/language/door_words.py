"""The names of a door's features and hands in a language."""

from __future__ import annotations

from handsfree.job.door_feature import FEATURES, UNKNOWN, YES_NO, answer_words, feature_words
from handsfree.job.handing import (
    MOTOR_NUMBER,
    Contradiction,
    HandFault,
    expected_hands,
    leaf_of_motor,
)
from handsfree.job.opening import Opening, Side, Swing
from handsfree.job.reading import LEAF_SUBJECT, Subject
from handsfree.language.wording import Wording


def feature_name(w: Wording, name: str) -> str:
    """The name of a feature: 'lock'."""
    return feature_words(name, w.language).name


def value_name(w: Wording, name: str, value: str) -> str:
    """The name of a feature's value: 'magnetic lock', 'yes', 'not known'."""
    if value == UNKNOWN:
        return w.say("not_known")
    if value in YES_NO:
        return w.name("word", value)
    return answer_words(value, w.language).name


def feature_question(w: Wording, name: str, subject: Subject) -> str:
    """The question for a feature, with its subject filled in."""
    return feature_words(name, w.language).ask.format(subject=w.subject(subject))


def seen_from(w: Wording, opening: Opening) -> str:
    """The side from which left and right are seen, in words."""
    known = FEATURES["seen_from"].values
    place = opening.seen_from
    return value_name(w, "seen_from", place) if place in known else place


def hand_view(w: Wording, opening: Opening) -> str:
    """The side that a hand is seen from: 'seen from the corridor'.

    On a double-egress pair each leaf is seen from the side that pushes it.
    """
    if opening.swing is Swing.DOUBLE_EGRESS:
        return w.say("seen_from_push_side")
    # A job file may name the place with its article.
    return w.say("seen_from_side", side=seen_from(w, opening).removeprefix("the "))


def expectation(w: Wording, opening: Opening, motor: Subject) -> str:
    """'Motor one drives the left leaf: expect left hand, ...'; '' while that is unknown.

    If the leaf of a motor is not known yet, the hand is given only if all leaves have the same one.
    """
    fitted = opening.motor(MOTOR_NUMBER[motor])
    if fitted is None:
        return ""
    hands, side = expected_hands(opening, fitted), leaf_of_motor(opening, fitted)
    hand = next(iter(hands)) if len(hands) == 1 else None
    if hand is None:
        return ""
    spoken, view = hand_name(w, hand), hand_view(w, opening)
    if side is None:
        return w.say("expect_hand_of_either", motor=w.subject(motor), hand=spoken, view=view)
    leaf = w.the(LEAF_SUBJECT[side])
    return w.say("expect_hand", motor=w.subject(motor), leaf=leaf, hand=spoken, view=view)


def hand_name(w: Wording, hand: Side) -> str:
    """'left hand'."""
    return w.name("word", f"{hand}_hand")


def clash_words(w: Wording, clash: HandFault, opening: Opening) -> str:
    """The reason for a contradiction in a door's facts, as part of a sentence."""
    subjects = w.listed([w.subject(subject) for subject in clash.subjects], "and")
    if clash.kind is not Contradiction.WRONG_HAND:
        return w.say(clash.kind, subjects=subjects)
    return w.say(clash.kind, expected=expectation(w, opening, clash.subjects[0]))
