"""Hands and their contradictions, compared with an independent door made of vectors.

Sources: the side and the code of a hand as in ANSI/BHMA A156.115 and the guides of the Door and
Hardware Institute (memory: neither text was seen); opposite hands on a pair that swings the same
way, equal ones on a double-egress pair (facts of the project: geometry, and seen, weak).
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import product
from typing import NamedTuple

import pytest

from handsfree.job.handing import (
    Contradiction,
    contradictions,
    expected_hand,
    new_contradictions,
)
from handsfree.job.opening import Action, Leaf, Motor, Opening, Side, Swing
from handsfree.job.reading import Subject

L, R = Side.LEFT, Side.RIGHT
PUSH, PULL = Action.PUSH, Action.PULL


# --- the independent model: a wall along x, the viewer at y < 0 looking to y > 0


def turns_left(hinge: Side, action: Action) -> bool:
    """True if the leaf turns counterclockwise from above while opening: a cross product."""
    along = (1, 0) if hinge is L else (-1, 0)  # from the hinges to the latch edge
    goes = (0, 1) if action is PUSH else (0, -1)  # away from the viewer, or towards
    return along[0] * goes[1] - along[1] * goes[0] > 0


def hand_from(hinge: Side, action: Action, *, viewer_pushes: bool) -> Side:
    """The hand as a viewer names it: on the push side of a leaf that turns counterclockwise the
    hinges are on the left, on its pull side they are on the right.
    """
    return L if turns_left(hinge, action) is viewer_pushes else R


class Door(NamedTuple):
    """A completely described door: hinges and actions by leaf, leaf and hand by motor."""

    hinges: tuple[Side, ...]
    actions: tuple[Action, ...]
    motors: tuple[tuple[Side, Side], ...]


def possible(swing: Swing) -> Iterator[Door]:
    """Every door that can be built."""
    if swing is Swing.SINGLE:
        for hinge, action in product(Side, Action):
            hand = hand_from(hinge, action, viewer_pushes=action is PUSH)
            yield Door((hinge,), (action,), ((L, hand),))
        return
    for action, order in product(Action, ((L, R), (R, L))):
        other = PULL if action is PUSH else PUSH
        actions = (action, action) if swing is Swing.SAME_WAY else (action, other)
        of = dict(zip((L, R), actions, strict=True))
        own_side = swing is Swing.DOUBLE_EGRESS
        hands = {
            side: hand_from(side, of[side], viewer_pushes=own_side or of[side] is PUSH)
            for side in (L, R)
        }
        yield Door((L, R), actions, tuple((side, hands[side]) for side in order))


def told(swing: Swing) -> Iterator[tuple[Opening, bool]]:
    """Every combination of stated and open facts about a door, and whether a door can match it."""
    leaves = (L,) if swing is Swing.SINGLE else (L, R)
    doors = [
        [*door.hinges, *door.actions, *(each for motor in door.motors for each in motor)]
        for door in possible(swing)
    ]
    sides, actions = (None, L, R), (None, PUSH, PULL)
    of_leaf = (None, L) if swing is Swing.SINGLE else sides
    columns = [sides] * len(leaves) + [actions] * len(leaves)
    for row in product(*columns, *[of_leaf, sides] * len(leaves)):
        count = len(leaves)
        motors = row[2 * count :]
        opening = Opening(
            name="door",
            seen_from="here",
            swing=swing,
            leaves=tuple(
                Leaf(name=name, hinge_side=row[nth], action=row[count + nth])
                for nth, name in enumerate(leaves)
            ),
            motors=tuple(
                Motor(number=nth + 1, leaf=motors[2 * nth], hand=motors[2 * nth + 1])
                for nth in range(count)
            ),
        )
        fits = any(
            all(said in (None, true) for said, true in zip(row, door, strict=True))
            for door in doors
        )
        yield opening, fits


@pytest.mark.slow
@pytest.mark.parametrize("swing", Swing)
def test_what_is_told_contradicts_itself_just_where_no_such_door_can_be_built(swing):
    for opening, fits in told(swing):
        assert (contradictions(opening) == ()) is fits, opening


@pytest.mark.parametrize("swing", Swing)
def test_the_expected_hand_is_the_only_one_that_can_be_built(swing):
    for door in possible(swing):
        leaves = tuple(
            Leaf(name=name, hinge_side=hinge, action=action)
            for name, hinge, action in zip((L, R), door.hinges, door.actions, strict=False)
        )
        opening = Opening(name="d", seen_from="here", swing=swing, leaves=leaves, motors=())
        for side, hand in door.motors:
            assert expected_hand(opening, side) is hand


def pair(swing: Swing, *motors: Motor, left: Leaf | None = None, right: Leaf | None = None):
    leaves = (left or Leaf(name=L), right or Leaf(name=R))
    return Opening(name="pair", seen_from="hall", swing=swing, leaves=leaves, motors=motors)


@pytest.mark.parametrize(
    ("opening", "kind", "subjects"),
    [
        (
            pair(Swing.SAME_WAY, Motor(number=1, leaf=L), Motor(number=2, leaf=L)),
            Contradiction.ONE_LEAF,
            (Subject.MOTOR_ONE, Subject.MOTOR_TWO),
        ),
        (
            pair(Swing.SAME_WAY, Motor(number=1, hand=R), Motor(number=2, hand=R)),
            Contradiction.SAME_HANDS,
            (Subject.MOTOR_ONE, Subject.MOTOR_TWO),
        ),
        (
            pair(Swing.DOUBLE_EGRESS, Motor(number=1, hand=L), Motor(number=2, hand=R)),
            Contradiction.OPPOSITE_HANDS,
            (Subject.MOTOR_ONE, Subject.MOTOR_TWO),
        ),
        (
            pair(Swing.SAME_WAY, Motor(number=1, leaf=L), Motor(number=2, hand=L)),
            Contradiction.WRONG_HAND,
            (Subject.MOTOR_TWO,),
        ),
        (
            pair(Swing.SAME_WAY, left=Leaf(name=L, hinge_side=R)),
            Contradiction.HINGES,
            (Subject.LEFT_LEAF,),
        ),
        (
            pair(Swing.SAME_WAY, left=Leaf(name=L, action=PUSH), right=Leaf(name=R, action=PULL)),
            Contradiction.MIXED_ACTIONS,
            (Subject.LEFT_LEAF, Subject.RIGHT_LEAF),
        ),
        (
            pair(
                Swing.DOUBLE_EGRESS, left=Leaf(name=L, action=PUSH), right=Leaf(name=R, action=PUSH)
            ),
            Contradiction.SAME_ACTIONS,
            (Subject.LEFT_LEAF, Subject.RIGHT_LEAF),
        ),
        (
            pair(
                Swing.SAME_WAY,
                right=Leaf(name=R, features={"arm_type": "push", "arm_side": "pull_side"}),
            ),
            Contradiction.ARM_SIDE,
            (Subject.RIGHT_LEAF,),
        ),
    ],
)
def test_each_contradiction_says_what_it_is_about(opening, kind, subjects):
    (fault,) = contradictions(opening)
    assert (fault.kind, fault.subjects) == (kind, subjects)
    assert fault.of_motors is all("motor" in subject for subject in subjects)


def test_only_what_a_fact_brought_is_new():
    before = pair(Swing.SAME_WAY, left=Leaf(name=L, hinge_side=R))
    after = before.model_copy(update={"motors": (Motor(number=1, leaf=L), Motor(number=2, leaf=L))})
    assert [fault.kind for fault in new_contradictions(before, after)] == [Contradiction.ONE_LEAF]
    assert new_contradictions(after, before) == ()
