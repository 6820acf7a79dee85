"""Changing door features: the opening, its leaves and motors follow."""

from __future__ import annotations

import pytest

from handsfree.checks.construction import estimate
from handsfree.job.door_feature import ANSWERS, FEATURES, UNKNOWN
from handsfree.job.feature_values import (
    construction_of,
    opening_feature,
    with_leaf_feature,
    with_opening_feature,
)
from handsfree.job.leaf_construction import HollowMetal
from handsfree.job.opening import Activation, Leaf, Lock, Motor, Opening, Side, Swing
from handsfree.job.unit import Family, parse_measure

OF_OPENING = [name for name, each in FEATURES.items() if each.of == "opening"]


def an_opening(**known: object) -> Opening:
    told = {
        "name": "door",
        "seen_from": "here",
        "swing": Swing.SINGLE,
        "leaves": (Leaf(name=Side.RIGHT),),
        "motors": (Motor(number=1, leaf=Side.RIGHT),),
        "not_known": tuple(OF_OPENING),
    }
    return Opening.model_validate({**told, **known})


@pytest.mark.parametrize("name", OF_OPENING)
def test_every_value_is_found_again_and_nothing_is_known_before(name):
    opening = an_opening()
    assert opening_feature(opening, name) is None
    feature = FEATURES[name]
    for value in feature.values if feature.known else (*feature.values, UNKNOWN):
        changed = with_opening_feature(opening, name, value)
        assert opening_feature(changed, name) == value
        assert name not in changed.not_known
        # What was told later counts, also after nobody knew.
        again = with_opening_feature(changed, name, feature.values[0])
        assert opening_feature(again, name) == feature.values[0]


def test_leaves_and_motors_follow_the_swing():
    one = an_opening()
    pair = with_opening_feature(one, "swing", "same_way")
    assert [leaf.name for leaf in pair.leaves] == [Side.LEFT, Side.RIGHT]
    assert [(motor.number, motor.leaf) for motor in pair.motors] == [(1, None), (2, None)]
    assert with_opening_feature(pair, "swing", "double_egress").leaves == pair.leaves
    single = with_opening_feature(pair, "swing", "single")
    assert [leaf.name for leaf in single.leaves] == [Side.LEFT]
    assert [(motor.number, motor.leaf) for motor in single.motors] == [(1, Side.LEFT)]
    assert with_opening_feature(one, "swing", "single").leaves == one.leaves


def test_a_fire_label_that_nobody_knows_of_counts_as_one():
    assert with_opening_feature(an_opening(), "fire_rated", UNKNOWN).fire_rated
    assert not with_opening_feature(an_opening(), "fire_rated", "no").fire_rated


def test_a_field_of_the_opening_is_changed_with_its_feature():
    assert with_opening_feature(an_opening(), "lock", "magnetic_lock").lock is Lock.MAGNETIC_LOCK


@pytest.mark.parametrize(
    ("not_known", "device", "activation"),
    [
        (("activation",), "card_reader", Activation.CARD_READER),
        ((), "card_reader", Activation.PUSH_PLATES),
        (("activation",), "none", Activation.PUSH_PLATES),
        ((), "motion_sensor", Activation.MOTION_SENSOR),
    ],
)
def test_what_starts_the_door_follows_its_devices(not_known, device, activation):
    opening = an_opening(not_known=not_known)
    assert with_opening_feature(opening, "outside_device", device).activation is activation


def test_a_construction_follows_what_the_leaf_is_made_of():
    leaf = with_leaf_feature(Leaf(name=Side.LEFT), "leaf_construction", "hollow_metal_16")
    assert leaf.construction == HollowMetal(core="honeycomb", gauge=16)
    assert with_leaf_feature(leaf, "arm_type", "push").construction == leaf.construction


def test_the_side_of_an_arm_follows_how_it_moves_the_leaf():
    leaf = Leaf(name=Side.LEFT)
    assert with_leaf_feature(leaf, "arm_type", "pull").features["arm_side"] == "pull_side"
    assert "arm_side" not in with_leaf_feature(leaf, "arm_type", "unknown").features
    told = with_leaf_feature(leaf, "arm_side", "push_side")
    assert with_leaf_feature(told, "arm_type", "pull").features["arm_side"] == "push_side"


def test_every_construction_gives_a_plausible_weight():
    width, height = (parse_measure(size, Family.LENGTH) for size in ("36 in", "84 in"))
    for value in FEATURES["leaf_construction"].values:
        assert ANSWERS[value].construction is not None
        told = estimate(construction_of(value), width, height)
        # 21 ft2 of anything in the table: from 2 to 10 lb/ft2 (common practice).
        assert 42 <= told.nominal.value <= 210, value
