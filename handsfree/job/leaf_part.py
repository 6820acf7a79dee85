"""A part of a non-uniform leaf: a stile, a rail, a light, a heavy lock."""

from __future__ import annotations

import re
from collections.abc import Iterable
from decimal import Decimal
from typing import Annotated, Literal

from pydantic import Field, model_validator

from handsfree.errors import BadValue
from handsfree.job.record import Record
from handsfree.job.unit import Family, Measure, Unit, convert, family_of

ArealUnit = Literal["kg/m2", "lb/ft2"]

_WRITTEN = re.compile(r"^\s*(\d+(?:\.\d+)?)\s*(kg/m2|lb/ft2)\s*$")
_KG_M2: dict[ArealUnit, Decimal] = {
    "kg/m2": Decimal(1),
    # The international pound over the square of the international foot: exact.
    "lb/ft2": convert(Decimal(1), Unit.POUND, Unit.KILOGRAM) / Decimal("0.3048") ** 2,
}
# Parts given by areal weight are right within a fifth in total, like any estimate.
_SHARE = Decimal("0.2")


class ArealWeight(Record):
    """The weight of a square metre or square foot of a part."""

    value: Annotated[Decimal, Field(gt=0)]
    unit: ArealUnit

    @property
    def kg_m2(self) -> float:
        """The areal weight in kg/m²."""
        return float(self.value * _KG_M2[self.unit])

    def __str__(self) -> str:
        return f"{self.value} {self.unit}"


def parse_areal_weight(text: str) -> ArealWeight:
    """Reads '4.5 lb/ft2' or '25 kg/m2'. Raises BadValue for anything else."""
    match = _WRITTEN.match(text)
    if match is None or not Decimal(match[1]):
        raise BadValue(
            f"'{text}' is not an areal weight", way_out="for example 4.5 lb/ft2 or 25 kg/m2"
        )
    return ArealWeight.model_validate({"value": Decimal(match[1]), "unit": match[2]})


class Part(Record):
    """A uniform rectangle of the leaf.

    ``near_edge`` is the distance from the hinge edge of the leaf to the part's nearer edge;
    ``width`` extends from there toward the latch edge. Its weight is given as ``weight``, or as
    ``areal_weight`` with ``height``. Parts may be above or on top of one another.
    """

    name: str
    near_edge: Measure
    width: Measure
    height: Measure | None = None
    areal_weight: ArealWeight | None = None
    weight: Measure | None = None

    @model_validator(mode="after")
    def _one_weight(self) -> Part:
        if (self.weight is None) is (self.areal_weight is None):
            raise ValueError(f"{self.name}: give either weight or areal_weight")
        if self.areal_weight is not None and self.height is None:
            raise ValueError(f"{self.name}: areal_weight needs a height")
        sizes = (("near_edge", self.near_edge), ("width", self.width), ("height", self.height))
        for key, size in sizes:
            if size is None:
                continue
            if family_of(size.unit) is not Family.LENGTH:
                raise ValueError(f"{self.name}: {key}: {size.unit} is not a unit of length")
            if size.value < 0 or (key != "near_edge" and size.value == 0):
                raise ValueError(f"{self.name}: {key}: expected more than 0, not {size}")
        if self.weight is not None:
            if family_of(self.weight.unit) is not Family.MASS:
                raise ValueError(f"{self.name}: weight: {self.weight.unit} is not a unit of mass")
            if self.weight.value <= 0:
                raise ValueError(f"{self.name}: weight: expected more than 0, not {self.weight}")
        return self

    @property
    def near_m(self) -> float:
        """Distance from the hinge edge to the nearer edge, in m."""
        return self.near_edge.in_base_unit()

    @property
    def far_m(self) -> float:
        """Distance from the hinge edge to the farther edge, in m."""
        return self.near_m + self.width.in_base_unit()

    @property
    def mass_kg(self) -> float:
        """The mass (kg): as given, or areal weight times area."""
        if self.weight is not None:
            return self.weight.in_base_unit()
        if self.areal_weight is None or self.height is None:  # pragma: no cover - see above
            raise ValueError(f"{self.name} has no weight")
        area_m2 = self.width.in_base_unit() * self.height.in_base_unit()
        return self.areal_weight.kg_m2 * area_m2


def uncovered_m(parts: Iterable[Part], width: Measure) -> float:
    """The width of the leaf that no part covers (m); gaps up to a hundredth of it count as 0."""
    reached = gap = 0.0
    for part in sorted(parts, key=lambda part: part.near_m):
        gap += max(0.0, part.near_m - reached)
        reached = max(reached, part.far_m)
    gap += max(0.0, width.in_base_unit() - reached)
    return gap if gap > width.in_base_unit() / 100 else 0.0


def parts_contradiction(
    parts: Iterable[Part], width: Measure | None, weight: Measure | None
) -> str | None:
    """Says why the parts do not fit this leaf; None if they do.

    No part may reach past the latch edge, and their total weight must match the leaf's within a
    fifth.
    """
    parts = tuple(parts)
    if width is not None:
        for part in parts:
            # A hundredth of a millimeter is rounding between inches and meters.
            if part.far_m > width.in_base_unit() + 1e-5:
                reach = convert(Decimal(repr(round(part.far_m, 6))), Unit.METRE, width.unit)
                return (
                    f"'{part.name}' reaches {reach:.2f} {width.unit} from the hinge edge, "
                    f"and the leaf is {width} wide"
                )
    if weight is not None and parts:
        sum_kg = sum(part.mass_kg for part in parts)
        share = Decimal(repr(sum_kg / weight.in_base_unit()))
        if abs(share - 1) > _SHARE:
            total = convert(Decimal(repr(sum_kg)), Unit.KILOGRAM, weight.unit)
            return f"the parts weigh {total:.1f} {weight.unit} together, and the leaf {weight}"
    return None
