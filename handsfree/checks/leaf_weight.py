"""The weight and the moment of inertia used for the limits, from the known facts about a leaf."""

from __future__ import annotations

from decimal import Decimal

from handsfree.checks.construction import Estimate, Material, WeightUsed, estimate, weight_to_use
from handsfree.checks.energy import uniform_inertia_kg_m2
from handsfree.checks.limit_set import Sourced, Status
from handsfree.job.leaf_part import Part, parts_contradiction, uncovered_m
from handsfree.job.opening import Leaf
from handsfree.job.unit import Measure, Unit, convert

_PARTS = Sourced(source="the parts in the job file", status=Status.COMMON_PRACTICE)


def weight_of(leaf: Leaf) -> WeightUsed | None:
    """The weight to use for a leaf, or None while it is unknown.

    A label or a scale takes precedence over an estimate, and an estimate counts at its heavy side.
    Parts that do not cover the whole width give no weight.
    """
    return weight_to_use(leaf.weight, leaf.weight_source, _estimate(leaf))


def inertia_of(leaf: Leaf) -> float | None:
    """Moment of inertia about the hinge edge (kg·m²), or None while it is unknown.

    It follows from the parts or the construction if they are known, otherwise from a uniform leaf.
    """
    weight = weight_of(leaf)
    if leaf.width is None or weight is None:
        return None
    if weight.inertia_kg_m2 is not None:
        return weight.inertia_kg_m2
    return uniform_inertia_kg_m2(weight.used.in_base_unit(), leaf.width.in_base_unit())


def leaf_contradiction(leaf: Leaf) -> str | None:
    """Says why the known facts about the leaf contradict each other; None if they do not."""
    if why := parts_contradiction(leaf.parts, leaf.width, leaf.weight):
        return why
    if leaf.parts and leaf.width is not None and (gap_m := uncovered_m(leaf.parts, leaf.width)):
        gap = convert(Decimal(repr(round(gap_m, 6))), Unit.METRE, leaf.width.unit)
        return (
            f"no part covers {gap:.1f} of the {leaf.width} of its width, so the parts tell "
            "no weight: tell all of them, or weigh the leaf"
        )
    weight = weight_of(leaf)
    return weight.contradiction if weight is not None else None


def _estimate(leaf: Leaf) -> Estimate | None:
    if leaf.parts and leaf.width is not None and not uncovered_m(leaf.parts, leaf.width):
        return _of_parts(leaf.parts)
    if leaf.construction is None or leaf.width is None or leaf.height is None:
        return None
    try:
        return estimate(leaf.construction, leaf.width, leaf.height)
    except ValueError:
        # Stiles and rails that leave no room for a pane give no weight; it has to be read instead.
        return None


def _of_parts(parts: tuple[Part, ...]) -> Estimate:
    unit = Unit.POUND if parts[0].width.unit in (Unit.INCH, Unit.FOOT) else Unit.KILOGRAM
    total_kg = Decimal(repr(sum(part.mass_kg for part in parts)))
    nominal = convert(total_kg, Unit.KILOGRAM, unit).quantize(Decimal("0.1"))
    return Estimate(
        nominal=Measure(value=nominal, unit=unit),
        parts=parts,
        sourced=_PARTS,
        material=Material(name="material_parts"),
    )
