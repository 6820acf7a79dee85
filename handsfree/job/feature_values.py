"""Reads and changes the features of a door by their names in door_features.toml."""

from __future__ import annotations

from typing import Any

from pydantic import TypeAdapter

from handsfree.job.door_feature import ANSWERS, FEATURES, UNKNOWN
from handsfree.job.leaf_construction import Aluminium, Construction, Glass
from handsfree.job.opening import Activation, Leaf, Lock, Motor, Opening, Side, Swing
from handsfree.job.unit import Family, parse_measure

DEVICES = ("inside_device", "outside_device")
"""Features that say what opens the door from one side."""
_CONSTRUCTION: TypeAdapter[Construction] = TypeAdapter(Construction)
_KINDS: dict[str, type[str]] = {
    "swing": Swing,
    "lock": Lock,
    "activation": Activation,
    "seen_from": str,
}
_SIDES = (Side.LEFT, Side.RIGHT)


def opening_feature(opening: Opening, name: str) -> str | None:
    """The value of a feature of the opening: 'unknown' if nobody knows it, None if not asked
    yet.
    """
    if name in opening.features:
        return opening.features[name]
    if name in opening.not_known or name not in Opening.model_fields:
        return None
    value = getattr(opening, name)
    return ("yes" if value else "no") if isinstance(value, bool) else str(value)


def with_opening_feature(opening: Opening, name: str, value: str) -> Opening:
    """The opening with a feature changed; leaves and motors follow the swing."""
    feature = FEATURES[name]
    known = feature.unknown if value == UNKNOWN else value
    features = {key: old for key, old in opening.features.items() if key != name}
    if name not in Opening.model_fields or value == UNKNOWN:
        features[name] = value
    # The act that opens the door also says what opens it from either side.
    told = (name, *DEVICES) if name == "activation" and value != UNKNOWN else (name,)
    update: dict[str, Any] = {
        "features": features,
        "not_known": tuple(each for each in opening.not_known if each not in told),
    }
    if name in Opening.model_fields and known is not None:
        update[name] = known == "yes" if feature.yes_or_no else _KINDS[name](known)
    changed = opening.model_copy(update=update)
    if name == "swing":
        return _with_leaves(changed)
    return _started_by(changed, value) if name in DEVICES else changed


def with_leaf_feature(leaf: Leaf, name: str, value: str) -> Leaf:
    """The leaf with a feature changed.

    The material gives its construction. A pushing arm is on the push side and a pulling one on the
    pull side, unless somebody said otherwise: that contradiction has to be settled.
    """
    features = {**leaf.features, name: value}
    if name == "arm_type" and value != UNKNOWN:
        features.setdefault("arm_side", f"{value}_side")
    update: dict[str, object] = {"features": features}
    if name == "leaf_construction" and value in ANSWERS:
        update["construction"] = construction_of(value)
    return leaf.model_copy(update=update)


def construction_of(answer: str) -> Construction:
    """The construction meant by an answer in door_features.toml."""
    made_of: dict[str, Any] = dict(ANSWERS[answer].construction or {})
    lengths = (Glass.model_fields.keys() | Aluminium.model_fields.keys()) - {"kind"}
    for key in made_of.keys() & lengths:
        made_of[key] = parse_measure(str(made_of[key]), Family.LENGTH)
    return _CONSTRUCTION.validate_python(made_of)


def _with_leaves(opening: Opening) -> Opening:
    """Creates one leaf for a single door, two for a pair, and a motor for each."""
    names: tuple[Side, ...] = _SIDES
    if opening.swing is Swing.SINGLE:
        names = tuple(leaf.name for leaf in opening.leaves)[:1] or _SIDES[:1]
    if tuple(leaf.name for leaf in opening.leaves) == names:
        return opening
    only = names[0] if len(names) == 1 else None
    return opening.model_copy(
        update={
            "leaves": tuple(opening.leaf(name) or Leaf(name=name) for name in names),
            "motors": tuple(Motor(number=nth, leaf=only) for nth, _ in enumerate(names, 1)),
        }
    )


def _started_by(opening: Opening, device: str) -> Opening:
    """The opening with the act that starts it, derived from a device on one of its sides.

    With a motion sensor on either side it is not a low-energy door. Any other device counts only if
    nobody stated what opens the door.
    """
    told = device not in ("none", UNKNOWN) and "activation" in opening.not_known
    if device != Activation.MOTION_SENSOR and not told:
        return opening
    left = tuple(name for name in opening.not_known if name != "activation")
    return opening.model_copy(update={"activation": Activation(device), "not_known": left})
