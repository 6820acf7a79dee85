"""The door features in a job file, and those left to the visit."""

from __future__ import annotations

import pytest

from handsfree.errors import JobError
from handsfree.job.door_feature import FEATURES
from handsfree.job.opening import Leaf, Lock, Motor, Side, Swing
from handsfree.job_file.features import OPENING_FEATURES
from handsfree.job_file.loader import parse_sheet


def test_the_name_of_the_opening_is_enough():
    sheet = parse_sheet('[opening]\nname = "back door"\n', "one.toml")
    assert (sheet.reference, sheet.site, sheet.technician) == ("back door", "", "")
    assert sheet.opening.not_known == OPENING_FEATURES
    assert sheet.opening.leaves == (Leaf(name=Side.LEFT),)
    assert sheet.opening.motors == (Motor(number=1, leaf=Side.LEFT),)
    assert sheet.opening.seen_from == "this side"


@pytest.mark.parametrize("missing", ["", "[opening]\n"])
def test_without_a_name_it_is_refused(missing):
    with pytest.raises(JobError, match=r"\[opening\]|'name' is missing"):
        parse_sheet(missing, "none.toml")


@pytest.mark.parametrize(
    ("swing", "leaves"), [("single", 1), ("same way", 2), ("double egress", 2)]
)
def test_leaves_and_motors_follow_the_swing(swing, leaves):
    sheet = parse_sheet(f'[opening]\nname = "a"\nswing = "{swing}"\n', "one.toml")
    opening = sheet.opening
    assert len(opening.leaves) == len(opening.motors) == leaves
    assert "swing" not in opening.not_known


def test_one_leaf_is_a_single_door_and_two_leave_the_swing_open():
    one = parse_sheet('[opening]\nname = "a"\n[[leaf]]\nname = "right"\n', "one.toml").opening
    assert one.swing is Swing.SINGLE and "swing" not in one.not_known
    two = '[opening]\nname = "a"\n[[leaf]]\nname = "left"\n[[leaf]]\nname = "right"\n'
    assert "swing" in parse_sheet(two, "two.toml").opening.not_known


def test_what_is_told_is_known():
    text = (
        '[opening]\nname = "a"\nlock = "magnetic lock"\nbattery_backup = true\n'
        'flush_bolts = "manual"\ninside_device = "card reader"\n'
        '[[leaf]]\nname = "left"\narm_type = "push"\nleaf_construction = "solid wood"\n'
    )
    opening = parse_sheet(text, "told.toml").opening
    assert opening.lock is Lock.MAGNETIC_LOCK
    assert opening.features == {
        "battery_backup": "yes",
        "flush_bolts": "manual",
        "inside_device": "card_reader",
    }
    features = {"arm_type": "push", "arm_side": "push_side", "leaf_construction": "solid_wood"}
    assert opening.leaves[0].features == features
    assert opening.leaves[0].construction is not None
    assert not {"lock", "battery_backup", "flush_bolts", "inside_device"} & set(opening.not_known)


def test_what_opens_the_door_tells_its_devices():
    text = '[opening]\nname = "a"\nactivation = "push plates"\n'
    assert not {"inside_device", "outside_device"} & set(parse_sheet(text, "a").opening.not_known)


@pytest.mark.parametrize(
    ("line", "reason"),
    [
        ('flush_bolts = "glued"', "unknown flush_bolts 'glued'"),
        ('battery_backup = "big"', "neither true nor false"),
        ('flush_bolt = "none"', "did you mean 'flush_bolts'"),
    ],
)
def test_a_wrong_value_is_named_with_its_line(line, reason):
    with pytest.raises(JobError) as refused:
        parse_sheet(f'[opening]\nname = "a"\n{line}\n', "wrong.toml")
    assert refused.value.line == 3 and reason in str(refused.value)


@pytest.mark.parametrize(
    ("leaves", "why"),
    [
        ('hinge_side = "right"', "outer edges"),
        ('arm_type = "push"\narm_side = "pull side"', "an arm that pushes"),
    ],
)
def test_a_contradiction_is_refused(leaves, why):
    text = f'[opening]\nname = "a"\nswing = "same way"\n[[leaf]]\nname = "left"\n{leaves}\n'
    with pytest.raises(JobError, match=why):
        parse_sheet(f'{text}[[leaf]]\nname = "right"\n', "pair.toml")


def test_every_feature_is_a_key():
    assert {name for name, each in FEATURES.items() if each.of == "opening"} == set(
        OPENING_FEATURES
    )
