"""The door features in a job file, and those left for the visit to find out."""

from __future__ import annotations

from typing import Literal

from handsfree.job.door_feature import FEATURES, YES_NO
from handsfree.job.feature_values import DEVICES
from handsfree.job.opening import Opening
from handsfree.job_file.table import Table

OPENING_FEATURES = tuple(name for name, each in FEATURES.items() if each.of == "opening")
"""Keys of [opening] that are features."""
LEAF_FEATURES = tuple(name for name, each in FEATURES.items() if each.of == "leaf")
"""Keys of [[leaf]] that are features."""


def features_in(table: Table, of: Literal["opening", "leaf"]) -> dict[str, str]:
    """The features of the table that have no field of their own in an opening or a leaf.

    Raises the file's error, with its line, for a value that the feature cannot have.
    """
    told: dict[str, str] = {}
    for name, feature in FEATURES.items():
        if feature.of != of or name not in table or name in Opening.model_fields:
            continue
        if feature.yes_or_no:
            told[name] = YES_NO[0] if table.flag(name) else YES_NO[1]
        else:
            spoken = {value.replace("_", " "): value for value in feature.values}
            written = str(table.values()[name]).replace("_", " ")
            told[name] = spoken.get(written) or table.word(name, tuple(spoken))
    return told


def untold(table: Table, *, swing_known: bool) -> tuple[str, ...]:
    """The features of the opening that the file does not state.

    The act that opens the door implies the devices on either side.
    """
    told = {"swing"} if swing_known else set()
    if "activation" in table:
        told |= set(DEVICES)
    return tuple(name for name in OPENING_FEATURES if name not in table and name not in told)
