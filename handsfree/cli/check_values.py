"""Reads the values of 'check' from words, and names what is plausible where they are not."""

from __future__ import annotations

import re
from decimal import Decimal
from typing import NamedTuple

from handsfree.checks.setting_fit import Direction, Scale
from handsfree.errors import BadValue
from handsfree.job.leaf_construction import Construction, Core, Glass, HollowMetal, SolidWood
from handsfree.job.quantity import ValueRange
from handsfree.job.unit import Family, Measure, parse_measure

_VALUE = re.compile(r"^(?:(left|right|near|far):)?(.*?)(?:@([^@]*))?$")
_NEEDS_UNIT = (Family.LENGTH, Family.MASS, Family.FORCE)


class Value(NamedTuple):
    """An option's value: of which leaf or side, the text, and the controller's setting."""

    option: str
    where: str | None
    text: str
    setting: Decimal | None


def measure_of(option: str, facts: ValueRange, text: str) -> Measure:
    """The option's value. Raises BadValue that names the option and the plausible range.

    A time or an angle has one unit and may do without it; a length, weight or force may
    not, because a bare number means one thing to one person and another to the next.
    """
    default = None if facts.family in _NEEDS_UNIT else facts.unit
    plausible = f"plausible is {facts.plausible_range}"
    try:
        measure = parse_measure(text, facts.family, default)
    except BadValue as error:
        way_out = f"{error.way_out}; {plausible}" if error.way_out else plausible
        raise BadValue(f"--{option}: {error.message}", way_out=way_out) from error
    if not facts.plausible(measure):
        raise BadValue(f"--{option}: {text} is no {facts.spoken}", way_out=plausible)
    return measure


def construction_of(words: str) -> Construction:
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
                    f"--construction: '{thickness}' is no thickness of glass",
                    way_out="plausible is from 3 mm to 40 mm",
                ) from error
        case _:
            raise BadValue(
                f"--construction: '{words}' is not known",
                way_out="hollow metal, a core (honeycomb, mineral) and a gauge (16, 18); hollow "
                "metal steel stiffened; solid wood; glass and its thickness",
            )


def scale_of(text: str, *, slower: bool) -> Scale:
    """Reads '1:9' or '0:10:0.5', the lowest and highest setting and the step between."""
    match = re.fullmatch(r"(\d+(?:\.\d+)?):(\d+(?:\.\d+)?)(?::(\d+(?:\.\d+)?))?", text)
    if match is None:
        raise BadValue(f"--scale: '{text}' is no scale", way_out="such as 1:9 or 0:10:0.5")
    low, high, step = (Decimal(one) for one in (match[1], match[2], match[3] or "1"))
    if not (low < high and 0 < step <= high - low):
        raise BadValue(
            f"--scale: '{text}' goes nowhere", way_out="the lowest, the highest and a step: 1:9:1"
        )
    direction: Direction = "higher is slower" if slower else "higher is faster"
    return Scale(low=low, high=high, step=step, direction=direction)


def value_of(option: str, text: str) -> Value:
    """Reads 'left:2.9@5'. Raises BadValue for a setting that is no number."""
    match = _VALUE.match(text)
    assert match is not None  # the pattern takes any text
    where, value, at = match.groups()
    if at is None:
        return Value(option, where, value, None)
    if not re.fullmatch(r"\d+(\.\d+)?", at):
        raise BadValue(
            f"--{option}: '{at}' is no setting of a controller",
            way_out="a number after the @, such as 2.9@5",
        )
    return Value(option, where, value, Decimal(at))
