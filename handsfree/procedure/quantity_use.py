"""What each reading is good for: a value that nothing uses is not asked for."""

from __future__ import annotations

from typing import Literal

from handsfree.job.quantity import SETTINGS, Quantity

Use = Literal["judged", "sets a limit", "record"]

USES: dict[Quantity, Use] = {
    Quantity.OPENING_TIME: "judged",
    Quantity.TOTAL_OPENING_TIME: "judged",
    Quantity.HOLD_OPEN_TIME: "judged",
    Quantity.CLOSING_TIME: "judged",
    Quantity.LATCHING_TIME: "judged",
    Quantity.BACKCHECK_ANGLE: "judged",
    Quantity.OPENING_FORCE: "judged",
    Quantity.CLOSING_FORCE: "judged",
    Quantity.RELEASE_FORCE: "judged",
    Quantity.SET_IN_MOTION_FORCE: "judged",
    Quantity.OPEN_FULLY_FORCE: "judged",
    Quantity.PLATE_HEIGHT: "judged",
    Quantity.PLATE_DISTANCE: "judged",
    Quantity.SIGN_HEIGHT: "judged",
    Quantity.NEXT_SERVICE: "judged",
    Quantity.CLEAR_WIDTH: "judged",
    # The least opening time depends on the width and the weight of the leaf.
    Quantity.LEAF_WIDTH: "sets a limit",
    Quantity.LEAF_WEIGHT: "sets a limit",
    # The weight of a leaf of known construction is estimated from its area.
    Quantity.LEAF_HEIGHT: "sets a limit",
    # How many cycles were watched says how much the observation is worth.
    Quantity.CYCLES: "record",
    # What the controller was set to, as found and as left, for whoever comes next.
    **dict.fromkeys(SETTINGS, "record"),
}
"""Held against the checks by a test; a quantity that is not here serves nothing."""
