"""The properties of an opening as names and values, for the page and the record."""

from __future__ import annotations

from handsfree.checks.leaf_weight import weight_of
from handsfree.job.opening import Lock, Opening
from handsfree.journal.plain_words import words_of
from handsfree.language.wording import wording
from handsfree.visit_record.event_words import with_unit


def opening_pairs(opening: Opening) -> tuple[tuple[str, str], ...]:
    """Names and values of what is known of the opening."""
    swing = {"same_way": "pair, same way", "double_egress": "pair, double egress"}
    yes = {True: "yes", False: "no"}
    pairs = [
        ("Swing", swing.get(opening.swing, "single")),
        ("Started by", words_of(opening.activation)),
        ("Held shut by", "nothing" if opening.lock is Lock.NONE else words_of(opening.lock)),
        ("Fire rated", yes[opening.fire_rated]),
        ("Sensors", yes[opening.sensors]),
        ("Astragal", yes[opening.astragal]),
        ("Spring shuts it without power", yes[opening.power_fail_spring]),
        ("One of two doors in a row", yes[opening.vestibule]),
        ("Guide rails", yes[opening.guide_rails]),
    ]
    for leaf in opening.leaves:
        known = [leaf.handing() or "hand not recorded"]
        known += [str(size) for size in (leaf.width, leaf.height) if size]
        weight = weight_of(leaf)
        if weight is not None:
            known.append(weight.words(wording()))
        if leaf.backcheck_angle_deg is not None:
            known.append(f"backcheck {with_unit(leaf.backcheck_angle_deg, 'deg')}")
        name = "Leaf" if len(opening.leaves) == 1 else f"{leaf.name.capitalize()} leaf"
        pairs.append((name, ", ".join(known)))
    return tuple(pairs)
