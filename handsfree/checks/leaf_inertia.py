"""The moment of inertia of a leaf made of parts.

A uniform rectangle of mass m between the distances a and b from the hinge edge
has I = m·(a² + a·b + b²)/3 about that edge: the integral of r² dm (any handbook of
mechanics). With a = 0 and b = D it is the uniform leaf's m·D²/3.
"""

from __future__ import annotations

from collections.abc import Iterable

from handsfree.job.leaf_part import Part


def part_inertia_kg_m2(part: Part) -> float:
    """The part's moment of inertia about the hinge edge of the leaf (kg·m²)."""
    near, far = part.near_m, part.far_m
    return part.mass_kg * (near**2 + near * far + far**2) / 3


def parts_inertia_kg_m2(parts: Iterable[Part], mass_kg: float | None = None) -> float:
    """Moment of inertia about the hinge edge of a leaf made of these parts (kg·m²).

    ``mass_kg`` is the mass of the whole leaf if a label or a scale gives it: the parts then only
    give its distribution. Raises ValueError without any part.
    """
    parts = tuple(parts)
    if not parts:
        raise ValueError("a leaf without parts has no moment of inertia")
    inertia = sum(part_inertia_kg_m2(part) for part in parts)
    if mass_kg is None:
        return inertia
    return inertia * mass_kg / sum(part.mass_kg for part in parts)
