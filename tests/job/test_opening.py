import pytest

from handsfree.job.opening import Action, Leaf, Motor, Opening, Side, Swing

L, R = Side.LEFT, Side.RIGHT


def pair(swing: Swing, one: Motor, two: Motor) -> Opening:
    return Opening(
        name="pair",
        seen_from="corridor",
        swing=swing,
        leaves=(Leaf(name=L), Leaf(name=R)),
        motors=(one, two),
    )


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
