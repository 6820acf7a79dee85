"""The features of a door in a job file, and those that it leaves to the visit."""

from __future__ import annotations

from typing import Literal

from handsfree.job.door_feature import FEATURES, YES_NO
from handsfree.job.feature_values import DEVICES
from handsfree.job.opening import Opening
from handsfree.job_file.table import Table

OPENING_FEATURES = tuple(name for name, each in FEATURES.items() if each.of == "opening")
"""The keys of [opening] that are features."""
LEAF_FEATURES = tuple(name for name, each in FEATURES.items() if each.of == "leaf")
"""The keys of [[leaf]] that are features."""


def told_features(table: Table, of: Literal["opening", "leaf"]) -> dict[str, str]:
    """The features of a table that no field of an opening has.

    Raises the file's error, with its line, for a value that a feature does not have.
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
    """The features of the opening that the file leaves open.

    What opens the door tells what opens it from either side.
    """
    told = {"swing"} if swing_known else set()
    if "activation" in table:
        told |= set(DEVICES)
    return tuple(name for name in OPENING_FEATURES if name not in table and name not in told)
