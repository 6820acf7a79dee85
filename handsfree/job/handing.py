"""The hand of each motor: the one expected for the door, and contradictions to it.

The hand of a leaf is the side of its hinges, seen from a named side. On a single leaf and on a
pair that swings the same way it is the side that the job names; on a double-egress pair each leaf
is seen from the side that pushes it.
"""

from __future__ import annotations

from collections.abc import Iterator
from enum import StrEnum

from handsfree.job.opening import Action, Leaf, Motor, Opening, Side, Swing
from handsfree.job.reading import LEAF_SUBJECT, Subject
from handsfree.job.record import Record

MOTOR_SUBJECT = {1: Subject.MOTOR_ONE, 2: Subject.MOTOR_TWO}
"""The subject of each motor, by its number."""
MOTOR_NUMBER = {subject: number for number, subject in MOTOR_SUBJECT.items()}


class Contradiction(StrEnum):
    """A contradiction in the stated facts about a door; the value names its sentence."""

    ONE_LEAF = "motors_on_one_leaf"
    SAME_HANDS = "motors_of_one_hand"
    OPPOSITE_HANDS = "motors_of_opposite_hands"
    WRONG_HAND = "hand_of_another_leaf"
    HINGES = "hinges_in_the_middle"
    MIXED_ACTIONS = "push_and_pull"
    SAME_ACTIONS = "same_action_on_both"
    ARM_SIDE = "arm_on_the_other_side"


class HandFault(Record):
    """A contradiction, and the motors or leaves that it concerns."""

    kind: Contradiction
    subjects: tuple[Subject, ...]

    @property
    def of_motors(self) -> bool:
        """True if it concerns motors, so that a short jog of each can settle it."""
        return set(self.subjects) <= set(MOTOR_SUBJECT.values())


def expected_hand(opening: Opening, side: Side) -> Side | None:
    """The expected hand of the motor that drives a leaf; None if the known facts leave it open.

    The outer edges of a pair carry the hinges (geometry). In a double-egress pair one leaf is
    pushed from each side, so either leaf tells how the other opens.
    """
    leaf = opening.leaf(side)
    if leaf is None:
        return None
    if opening.swing is Swing.SINGLE:
        return leaf.hinge_side
    if opening.swing is Swing.SAME_WAY:
        return side
    action = _action_of_double_egress(opening, leaf)
    if action is None:
        return None
    return side if action is Action.PUSH else side.other()


def leaf_of_motor(opening: Opening, motor: Motor) -> Side | None:
    """The leaf that a motor drives, as stated or by elimination; None if open."""
    if motor.leaf is not None or len(opening.leaves) != len(opening.motors):
        return motor.leaf
    taken = [other.leaf for other in opening.motors if other.leaf is not None]
    free = [leaf.name for leaf in opening.leaves if leaf.name not in taken]
    return free[0] if len(free) == 1 else None


def expected_hands(opening: Opening, motor: Motor) -> frozenset[Side | None]:
    """The possible hands of a motor on the leaves that it can drive; None stands for an open
    one.
    """
    side = leaf_of_motor(opening, motor)
    sides = [leaf.name for leaf in opening.leaves] if side is None else [side]
    return frozenset(expected_hand(opening, each) for each in sides)


def contradictions(opening: Opening) -> tuple[HandFault, ...]:
    """All contradictions in the stated facts about leaves and motors; () if there are none."""
    return (*_of_leaves(opening), *_of_motors(opening))


def new_contradictions(before: Opening, after: Opening) -> tuple[HandFault, ...]:
    """The contradictions of an opening that were not in the earlier one."""
    known = contradictions(before)
    return tuple(each for each in contradictions(after) if each not in known)


def _action_of_double_egress(opening: Opening, leaf: Leaf) -> Action | None:
    if leaf.action is not None:
        return leaf.action
    other = opening.leaf(leaf.name.other())
    if other is None or other.action is None:
        return None
    return Action.PULL if other.action is Action.PUSH else Action.PUSH


def _of_leaves(opening: Opening) -> Iterator[HandFault]:
    for leaf in opening.leaves:
        subjects = (LEAF_SUBJECT[leaf.name],)
        if len(opening.leaves) == 2 and leaf.hinge_side not in (None, leaf.name):
            yield HandFault(kind=Contradiction.HINGES, subjects=subjects)
        arm, on = leaf.features.get("arm_type"), leaf.features.get("arm_side")
        if arm in ("push", "pull") and on in ("push_side", "pull_side") and on != f"{arm}_side":
            yield HandFault(kind=Contradiction.ARM_SIDE, subjects=subjects)
    actions = [leaf.action for leaf in opening.leaves]
    if len(actions) < 2 or None in actions:
        return
    both = tuple(LEAF_SUBJECT[leaf.name] for leaf in opening.leaves)
    if opening.swing is Swing.SAME_WAY and actions[0] is not actions[1]:
        yield HandFault(kind=Contradiction.MIXED_ACTIONS, subjects=both)
    if opening.swing is Swing.DOUBLE_EGRESS and actions[0] is actions[1]:
        yield HandFault(kind=Contradiction.SAME_ACTIONS, subjects=both)


def _of_motors(opening: Opening) -> Iterator[HandFault]:
    if len(opening.motors) == 2:
        one, two = opening.motors
        both = (MOTOR_SUBJECT[one.number], MOTOR_SUBJECT[two.number])
        if one.leaf is not None and one.leaf is two.leaf:
            yield HandFault(kind=Contradiction.ONE_LEAF, subjects=both)
            return
        if one.hand is not None and two.hand is not None:
            if opening.swing is Swing.SAME_WAY and one.hand is two.hand:
                yield HandFault(kind=Contradiction.SAME_HANDS, subjects=both)
                return
            if opening.swing is Swing.DOUBLE_EGRESS and one.hand is not two.hand:
                yield HandFault(kind=Contradiction.OPPOSITE_HANDS, subjects=both)
                return
    for motor in opening.motors:
        expected = expected_hands(opening, motor)
        if motor.hand is not None and None not in expected and motor.hand not in expected:
            subject = MOTOR_SUBJECT[motor.number]
            yield HandFault(kind=Contradiction.WRONG_HAND, subjects=(subject,))
