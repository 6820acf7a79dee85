import pytest

from handsfree.job.opening import (
    Action,
    Contradiction,
    Leaf,
    Motor,
    Opening,
    Side,
    Swing,
    hands_contradiction,
)

L, R = Side.LEFT, Side.RIGHT


def pair(swing: Swing, one: Motor, two: Motor) -> Opening:
    return Opening(
        name="pair",
        seen_from="corridor",
        swing=swing,
        leaves=(Leaf(name=L), Leaf(name=R)),
        motors=(one, two),
    )


@pytest.mark.parametrize(
    ("swing", "one", "two", "fits"),
    [
        (Swing.SAME_WAY, L, R, True),
        (Swing.SAME_WAY, R, L, True),
        (Swing.SAME_WAY, L, L, False),
        (Swing.SAME_WAY, R, R, False),
        (Swing.DOUBLE_EGRESS, L, L, True),
        (Swing.DOUBLE_EGRESS, L, R, False),
        (Swing.SAME_WAY, L, None, True),
        (Swing.DOUBLE_EGRESS, None, R, True),
    ],
)
def test_same_way_needs_opposite_hands_and_double_egress_the_same(
    swing: Swing, one: Side | None, two: Side | None, fits: bool
) -> None:
    opening = pair(swing, Motor(number=1, hand=one), Motor(number=2, hand=two))
    assert (hands_contradiction(opening) is None) is fits


def test_two_motors_on_one_leaf_contradict() -> None:
    opening = pair(Swing.SAME_WAY, Motor(number=1, leaf=L), Motor(number=2, leaf=L))
    assert hands_contradiction(opening) is Contradiction.ONE_LEAF


# Codes seen from the key side; source: facts on handing, common trade guides.
@pytest.mark.parametrize(
    ("hinges", "action", "code"),
    [
        (L, Action.PUSH, "LH"),
        (R, Action.PUSH, "RH"),
        (L, Action.PULL, "LHR"),
        (R, Action.PULL, "RHR"),
        (None, Action.PULL, None),
        (L, None, None),
    ],
)
def test_the_handing_code(hinges: Side | None, action: Action | None, code: str | None) -> None:
    assert Leaf(name=L, hinge_side=hinges, action=action).handing() == code


def test_a_leaf_is_replaced_by_its_namesake_only() -> None:
    opening = pair(Swing.SAME_WAY, Motor(number=1), Motor(number=2))
    changed = opening.with_leaf(Leaf(name=R, hinge_side=R)).with_motor(Motor(number=2, hand=R))
    assert [leaf.hinge_side for leaf in changed.leaves] == [None, R]
    assert [motor.hand for motor in changed.motors] == [None, R]
