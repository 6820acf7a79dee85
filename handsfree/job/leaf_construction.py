"""The construction of a leaf, for a leaf without a label or scale weight."""

from __future__ import annotations

from enum import StrEnum
from typing import Annotated, Literal

from pydantic import Field, model_validator

from handsfree.errors import BadValue
from handsfree.job.record import Record
from handsfree.job.unit import Family, Measure, family_of, parse_measure


class Core(StrEnum):
    """The core of a hollow metal leaf."""

    HONEYCOMB = "honeycomb"
    MINERAL = "mineral"
    STEEL_STIFFENED = "steel_stiffened"


class HollowMetal(Record):
    """Two steel faces, 1-3/4 in apart. A steel-stiffened leaf has no gauge."""

    kind: Literal["hollow_metal"] = "hollow_metal"
    core: Core
    gauge: Literal[16, 18] | None = None

    @model_validator(mode="after")
    def _gauge(self) -> HollowMetal:
        if (self.core is Core.STEEL_STIFFENED) is (self.gauge is not None):
            raise ValueError("gauge: 16 or 18 for a honeycomb or mineral core, none for stiffeners")
        return self


class SolidWood(Record):
    """A solid wood core, 1-3/4 in thick."""

    kind: Literal["solid_wood"] = "solid_wood"


class Glass(Record):
    """One pane without a frame; ``thickness`` is the total thickness of its glass."""

    kind: Literal["glass"] = "glass"
    thickness: Measure

    @model_validator(mode="after")
    def _plausible(self) -> Glass:
        _within("thickness", self.thickness, 0.003, 0.04)
        return self


class Aluminium(Record):
    """Stiles and rails of hollow aluminium around a pane.

    ``depth`` is the thickness of the leaf, ``wall`` the wall thickness of the hollow sections.
    Without ``lock_stile`` the lock stile is as wide as the hinge stile.
    """

    kind: Literal["aluminium"] = "aluminium"
    stile: Measure
    lock_stile: Measure | None = None
    top_rail: Measure
    bottom_rail: Measure
    depth: Measure
    wall: Measure
    glass: Measure

    @model_validator(mode="after")
    def _plausible(self) -> Aluminium:
        _within("stile", self.stile, 0.02, 0.25)
        if self.lock_stile is not None:
            _within("lock_stile", self.lock_stile, 0.02, 0.25)
        _within("top_rail", self.top_rail, 0.02, 0.6)
        _within("bottom_rail", self.bottom_rail, 0.02, 0.6)
        _within("depth", self.depth, 0.03, 0.08)
        _within("wall", self.wall, 0.001, 0.01)
        _within("glass", self.glass, 0.003, 0.04)
        return self


Construction = Annotated[HollowMetal | SolidWood | Glass | Aluminium, Field(discriminator="kind")]


def parse_construction(words: str) -> Construction:
    """Reads 'hollow metal honeycomb 18', 'hollow metal steel stiffened', 'glass 12mm'.

    Raises BadValue. Aluminium with glass has too many sizes for a line: see the job file.
    """
    match words.lower().split():
        case ["solid", "wood"]:
            return SolidWood()
        case ["hollow", "metal", "steel", "stiffened"]:
            return HollowMetal(core=Core.STEEL_STIFFENED)
        case ["hollow", "metal", ("honeycomb" | "mineral") as core, ("16" | "18") as gauge]:
            return HollowMetal.model_validate({"core": core, "gauge": int(gauge)})
        case ["glass", thickness]:
            try:
                return Glass(thickness=parse_measure(thickness, Family.LENGTH))
            except (BadValue, ValueError) as error:
                raise BadValue(
                    f"'{thickness}' is not a thickness of glass",
                    way_out="plausible: from 3 mm to 40 mm",
                ) from error
        case _:
            raise BadValue(
                f"'{words}' is not known",
                way_out="hollow metal, a core (honeycomb, mineral) and a gauge (16, 18); hollow "
                "metal steel stiffened; solid wood; glass and its thickness",
            )


def _within(key: str, size: Measure, low_m: float, high_m: float) -> None:
    """Raises ValueError for a size outside its plausible range (in m; common practice)."""
    if family_of(size.unit) is not Family.LENGTH:
        raise ValueError(f"{key}: {size.unit} is not a unit of length")
    if not low_m <= size.in_base_unit() <= high_m:
        low_mm, high_mm = 1000 * low_m, 1000 * high_m
        raise ValueError(f"{key}: {size} is not plausible: from {low_mm:g} to {high_mm:g} mm")
