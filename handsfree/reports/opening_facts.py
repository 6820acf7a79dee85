"""The properties of an opening as names and values, for the page and the record."""

from __future__ import annotations

from handsfree.checks.leaf_weight import weight_of
from handsfree.job.door_feature import UNKNOWN
from handsfree.job.feature_values import opening_feature
from handsfree.job.opening import Opening
from handsfree.language.door_words import feature_name, seen_from, value_name
from handsfree.language.wording import ENGLISH, sentence
from handsfree.reports.printed_words import printed_words
from handsfree.visit_record.event_words import with_unit

_ALWAYS = (
    *("swing", "activation", "lock", "fire_rated", "sensors", "power_fail_spring", "vestibule"),
    "astragal",
)
"""Features that are listed even if they are unknown."""
_OF_PAIRS = "astragal"


def opening_pairs(opening: Opening, language: str = ENGLISH) -> tuple[tuple[str, str], ...]:
    """The known facts about the opening as names and values, its leaves last."""
    words = printed_words(language)
    w = words.names
    pairs = [(words.text("seen_from"), seen_from(w, opening))] if opening.seen_from else []
    for name in (*_ALWAYS, *(each for each in opening.features if each not in _ALWAYS)):
        if name == _OF_PAIRS and len(opening.leaves) == 1:
            continue
        value = opening_feature(opening, name)
        pairs.append((sentence(feature_name(w, name))[:-1], value_name(w, name, value or UNKNOWN)))
    for leaf in opening.leaves:
        known = [leaf.handing() or words.text("hand_unknown")]
        known.append(" x ".join(str(size) for size in (leaf.width, leaf.height) if size))
        weight = weight_of(leaf)
        if weight is not None:
            known.append(weight.words(w))
        if leaf.backcheck_angle_deg is not None:
            angle = with_unit(leaf.backcheck_angle_deg, "deg")
            known.append(words.text("backcheck", angle=angle))
        for feature, value in leaf.features.items():
            known.append(f"{feature_name(w, feature)} {value_name(w, feature, value)}")
        named = sentence(w.subject(f"{leaf.name} leaf"))[:-1]
        pairs.append(
            (
                words.text("leaf") if len(opening.leaves) == 1 else named,
                ", ".join(filter(None, known)),
            )
        )
    return tuple(pairs)
