"""Estimates the weight of a leaf from its construction: nominal, heavy side and light side.

Areal weights of whole leaves come from trade charts, glass from its density, aluminium stiles and
rails from their volume. Each is taken as correct within a fifth, solid wood within the 3 to 6.5
lb/ft2 that its sources give. Limits use the heavy side: 20 % more weight means 10 % more time. A
label or a scale beats an estimate.
"""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from handsfree.checks.leaf_inertia import parts_inertia_kg_m2
from handsfree.checks.limit_set import Sourced, Status
from handsfree.checks.number_format import figure, measured
from handsfree.job.leaf_construction import (
    Aluminium,
    Construction,
    Core,
    Glass,
    HollowMetal,
    SolidWood,
)
from handsfree.job.leaf_part import ArealWeight, Part
from handsfree.job.opening import WeightSource
from handsfree.job.record import Record
from handsfree.job.unit import Measure, Unit, convert
from handsfree.language.wording import Wording, wording

ESTIMATE_SHARE = Decimal("0.2")
"""Relative half-width of an estimate: it is right within a fifth (seen, weak source)."""

GLASS_KG_M3 = Decimal(2500)
ALUMINIUM_KG_M3 = Decimal(2700)

_CHART = Sourced(source="trade chart", status=Status.SEEN, note="give or take a fifth")
_WOOD = Sourced(
    source="trade charts",
    status=Status.SEEN,
    note="weak: the middle of 4 to 5 lb/ft2, sources range from 3 to 6.5, and so does the estimate",
)
_GLASS = Sourced(
    source="EN 572-1, 2500 kg/m3",
    status=Status.SEEN,
    note="the citation is from memory",
)
_ALUMINIUM = Sourced(
    source="Gere, Mechanics of Materials, 2700 kg/m3, and EN 572-1 for the glass",
    status=Status.SEEN,
    note="the citation for glass is from memory",
)
_HOLLOW_METAL_LB_FT2: dict[tuple[Core, int | None], str] = {
    (Core.HONEYCOMB, 18): "3.5",
    (Core.MINERAL, 18): "5.5",
    (Core.HONEYCOMB, 16): "4.5",
    (Core.MINERAL, 16): "6.0",
    (Core.STEEL_STIFFENED, None): "8.0",
}
_WOOD_LB_FT2, _WOOD_LIGHT_LB_FT2, _WOOD_HEAVY_LB_FT2 = "4.5", Decimal(3), Decimal("6.5")


class Material(Record):
    """The material of a leaf: the name of the sentence that states it, and its values."""

    name: str
    values: tuple[tuple[str, str], ...] = ()

    def words(self, w: Wording) -> str:
        """'hollow metal, 18 gauge, honeycomb core'."""
        return w.say(
            self.name, count=None, **{key: w.name("word", value) for key, value in self.values}
        )


class Estimate(Record):
    """A leaf's weight from its construction.

    ``parts`` make up the whole leaf, with the nominal weight. ``sourced`` names the source of the
    material's weight. ``low_share`` and ``high_share`` are the lightest and heaviest possible leaf
    as shares of the nominal weight.
    """

    nominal: Measure
    parts: tuple[Part, ...]
    sourced: Sourced
    material: Material
    low_share: Decimal = 1 - ESTIMATE_SHARE
    high_share: Decimal = 1 + ESTIMATE_SHARE

    @property
    def heavy(self) -> Measure:
        """The heavy side of the estimate: the weight that limits use."""
        return self._moved(self.high_share)

    @property
    def light(self) -> Measure:
        """The lightest that the leaf may be."""
        return self._moved(self.low_share)

    @property
    def heavy_inertia_kg_m2(self) -> float:
        """Moment of inertia about the hinge edge for the heavy side (kg·m²)."""
        return parts_inertia_kg_m2(self.parts, self.heavy.in_base_unit())

    def _moved(self, share: Decimal) -> Measure:
        # To the gram: a share such as one third has no exact decimal.
        value = (self.nominal.value * share).quantize(Decimal("0.001"))
        return self.nominal.model_copy(update={"value": value})


class WeightUsed(Record):
    """The weight that limits use, and the kind of its source.

    ``nominal`` is the estimate of which ``used`` is the heavy side and ``lightest`` the least that
    the leaf may weigh, ``material`` what it was estimated from if no weight was given.
    ``inertia_kg_m2`` follows from the construction, or is None if that is unknown.
    ``contradiction`` states a disagreement between the construction and a label or scale.
    """

    used: Measure
    source: WeightSource | None
    nominal: Measure | None = None
    lightest: Measure | None = None
    material: Material | None = None
    inertia_kg_m2: float | None = None
    contradiction: str | None = None

    def words(self, w: Wording) -> str:
        """'150 pounds from the label', '36 kilograms, the heavy side of 30 for solid wood'."""
        used = measured(w, self.used.value, self.used.unit)
        if self.nominal is None:
            return w.say(f"weight_from_{self.source or 'unknown'}", weight=used)
        told = figure(self.nominal.value)
        if self.material is None:
            return w.say("weight_of_estimate", heavy=used, told=told)
        material = self.material.words(w)
        return w.say("weight_of_material", heavy=used, nominal=told, material=material)


def weight_to_use(
    told: Measure | None, source: WeightSource | None, estimated: Estimate | None
) -> WeightUsed | None:
    """The weight to use: a label or scale comes before any estimate; None without either.

    Of two estimates the heavier counts. A weight of unknown source is used as given, and the
    construction then only gives its distribution.
    """
    if told is None or source is WeightSource.ESTIMATE:
        guesses = [_guess(told)] if told is not None else []
        if estimated is not None:
            guesses.append(_from_construction(estimated))
        return max(guesses, key=lambda guess: guess.used.in_base_unit(), default=None)
    inertia = contradiction = None
    if estimated is not None:
        inertia = parts_inertia_kg_m2(estimated.parts, told.in_base_unit())
        low, high = estimated.light.in_base_unit(), estimated.heavy.in_base_unit()
        if not low <= told.in_base_unit() <= high:
            contradiction = (
                f"{estimated.material.words(wording())} should weigh about "
                f"{_spoken(estimated.nominal)}, but {_spoken(told)} is recorded"
            )
    return WeightUsed(
        used=told,
        source=source,
        inertia_kg_m2=inertia,
        contradiction=contradiction,
    )


def _guess(told: Measure) -> WeightUsed:
    heavy, light = (
        told.model_copy(update={"value": told.value * share})
        for share in (1 + ESTIMATE_SHARE, 1 - ESTIMATE_SHARE)
    )
    return WeightUsed(
        used=heavy,
        source=WeightSource.ESTIMATE,
        nominal=told,
        lightest=light,
    )


def _from_construction(estimated: Estimate) -> WeightUsed:
    return WeightUsed(
        used=estimated.heavy,
        source=WeightSource.ESTIMATE,
        nominal=estimated.nominal,
        lightest=estimated.light,
        material=estimated.material,
        inertia_kg_m2=estimated.heavy_inertia_kg_m2,
    )


def _spoken(weight: Measure) -> str:
    return measured(wording(), weight.value, weight.unit)


def estimate(construction: Construction, width: Measure, height: Measure) -> Estimate:
    """Estimates the weight of a leaf of this construction and size, in the units of its width.

    Raises ValueError when stiles or rails leave no room for the pane.
    """
    if isinstance(construction, Aluminium):
        parts = tuple(_framed(construction, width, height))
        sourced, material = _ALUMINIUM, Material(name="material_aluminium")
    else:
        areal, sourced, material = _areal(construction)
        nothing = width.model_copy(update={"value": Decimal(0)})
        parts = (
            Part(name="leaf", near_edge=nothing, width=width, height=height, areal_weight=areal),
        )
    unit = Unit.POUND if width.unit in (Unit.INCH, Unit.FOOT) else Unit.KILOGRAM
    total_kg = Decimal(repr(sum(part.mass_kg for part in parts)))
    nominal = convert(total_kg, Unit.KILOGRAM, unit).quantize(Decimal("0.1"))
    told = Estimate(
        nominal=Measure(value=nominal, unit=unit), parts=parts, sourced=sourced, material=material
    )
    if not isinstance(construction, SolidWood):
        return told
    low, high = (each / Decimal(_WOOD_LB_FT2) for each in (_WOOD_LIGHT_LB_FT2, _WOOD_HEAVY_LB_FT2))
    return told.model_copy(update={"low_share": low, "high_share": high})


def _areal(construction: Construction) -> tuple[ArealWeight, Sourced, Material]:
    if isinstance(construction, Glass):
        thickness_m = Decimal(repr(construction.thickness.in_base_unit()))
        areal = ArealWeight(value=GLASS_KG_M3 * thickness_m, unit="kg/m2")
        thickness = ("thickness", str(construction.thickness))
        return areal, _GLASS, Material(name="material_glass", values=(thickness,))
    if isinstance(construction, HollowMetal):
        value = _HOLLOW_METAL_LB_FT2[construction.core, construction.gauge]
        core = (("core", construction.core.value),)
        if construction.gauge is None:
            return _lb_ft2(value), _CHART, Material(name="material_hollow_metal", values=core)
        gauged = (*core, ("gauge", str(construction.gauge)))
        return _lb_ft2(value), _CHART, Material(name="material_hollow_metal_gauge", values=gauged)
    return _lb_ft2(_WOOD_LB_FT2), _WOOD, Material(name="material_wood")


def _lb_ft2(value: str) -> ArealWeight:
    return ArealWeight(value=Decimal(value), unit="lb/ft2")


def _framed(frame: Aluminium, width: Measure, height: Measure) -> Iterator[Part]:
    """Two stiles of full height, two rails, and the pane between them."""
    wide, high = _m(width), _m(height)
    hinge, lock = _m(frame.stile), _m(frame.lock_stile or frame.stile)
    top, bottom = _m(frame.top_rail), _m(frame.bottom_rail)
    between, pane = wide - hinge - lock, high - top - bottom
    if between <= 0 or pane <= 0:
        raise ValueError(
            f"stiles and rails leave no room for the pane of a leaf {width} by {height}"
        )
    sections = (
        ("hinge stile", Decimal(0), hinge, hinge, high),
        ("lock stile", wide - lock, lock, lock, high),
        ("top rail", hinge, between, top, between),
        ("bottom rail", hinge, between, bottom, between),
    )
    for name, near, part_width, face, length in sections:
        kg = ALUMINIUM_KG_M3 * length * _metal_m2(face, frame)
        yield _part(name, near, part_width, kg)
    yield _part("pane", hinge, between, GLASS_KG_M3 * _m(frame.glass) * between * pane)


def _metal_m2(face: Decimal, frame: Aluminium) -> Decimal:
    """Metal in the cross-section of a hollow profile (m²): the whole less the hollow."""
    depth, wall = _m(frame.depth), _m(frame.wall)
    return face * depth - (face - 2 * wall) * (depth - 2 * wall)


def _part(name: str, near: Decimal, width: Decimal, kg: Decimal) -> Part:
    return Part(
        name=name,
        near_edge=Measure(value=near, unit=Unit.METRE),
        width=Measure(value=width, unit=Unit.METRE),
        weight=Measure(value=kg, unit=Unit.KILOGRAM),
    )


def _m(size: Measure) -> Decimal:
    return convert(size.value, size.unit, Unit.METRE)
