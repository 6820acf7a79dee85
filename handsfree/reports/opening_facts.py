"""The properties of an opening as names and values, for the page and the record."""

from __future__ import annotations

from handsfree.checks.leaf_weight import weight_of
from handsfree.job.door_feature import UNKNOWN
from handsfree.job.feature_values import opening_feature
from handsfree.job.opening import Lock, Opening
from handsfree.journal.plain_words import words_of
from handsfree.language.door_words import feature_name, value_name
from handsfree.language.wording import sentence, wording
from handsfree.visit_record.event_words import with_unit


def opening_pairs(opening: Opening) -> tuple[tuple[str, str], ...]:
    """Names and values of what is known of the opening."""
    swing = {"same_way": "pair, same way", "double_egress": "pair, double egress"}
    lock = "nothing" if opening.lock is Lock.NONE else words_of(opening.lock)
    pairs = [
        ("Swing", _known(opening, "swing", swing.get(opening.swing, "single"))),
        ("Started by", _known(opening, "activation", words_of(opening.activation))),
        ("Held shut by", _known(opening, "lock", lock)),
        ("Fire rated", _known(opening, "fire_rated")),
        ("Sensors", _known(opening, "sensors")),
        ("Astragal", _known(opening, "astragal")),
        ("Spring shuts it without power", _known(opening, "power_fail_spring")),
        ("One of two doors in a row", _known(opening, "vestibule")),
    ]
    w = wording()
    for name, value in opening.features.items():
        if name not in Opening.model_fields:
            pairs.append((sentence(feature_name(w, name))[:-1], value_name(w, name, value)))
    for leaf in opening.leaves:
        known = [leaf.handing() or "hand not recorded"]
        known += [str(size) for size in (leaf.width, leaf.height) if size]
        weight = weight_of(leaf)
        if weight is not None:
            known.append(weight.words(wording()))
        if leaf.backcheck_angle_deg is not None:
            known.append(f"backcheck {with_unit(leaf.backcheck_angle_deg, 'deg')}")
        for feature, value in leaf.features.items():
            known.append(f"{feature_name(w, feature)} {value_name(w, feature, value)}")
        name = "Leaf" if len(opening.leaves) == 1 else f"{leaf.name.capitalize()} leaf"
        pairs.append((name, ", ".join(known)))
    return tuple(pairs)


def _known(opening: Opening, name: str, spoken: str | None = None) -> str:
    """The value of a feature in words, or that nobody knows it."""
    value = opening_feature(opening, name)
    return wording().say("not_known") if value in (None, UNKNOWN) else spoken or str(value)
