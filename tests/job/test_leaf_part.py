"""Parts of a leaf: a wrong entry is named with the expected one."""

from __future__ import annotations

import pint
import pytest
from pydantic import ValidationError

from handsfree.errors import BadValue
from handsfree.job.leaf_part import Part, parse_areal_weight, parts_contradiction
from handsfree.job.unit import Family, parse_measure


def length(text: str):
    return parse_measure(text, Family.LENGTH)


def mass(text: str):
    return parse_measure(text, Family.MASS)


def stile(near_edge: str = "32in", weight: str = "40lb") -> Part:
    return Part(
        name="lock stile", near_edge=length(near_edge), width=length("4in"), weight=mass(weight)
    )


@pytest.mark.parametrize("written", ["4.5 lb/ft2", "25kg/m2"])
def test_an_areal_weight_converts_as_pint_has_it(written):
    areal = parse_areal_weight(written)
    units = pint.get_application_registry()
    expected = (float(areal.value) * units(areal.unit.replace("2", "**2"))).to("kg/m**2")
    assert areal.kg_m2 == pytest.approx(expected.magnitude)


@pytest.mark.parametrize("written", ["4.5", "4.5 lb", "0 lb/ft2", "-3 kg/m2", "nan kg/m2", ""])
def test_what_is_no_areal_weight_is_named(written):
    with pytest.raises(BadValue, match="not an areal weight"):
        parse_areal_weight(written)


@pytest.mark.parametrize(
    ("changed", "named"),
    [
        ({"weight": None}, "either weight or areal_weight"),
        ({"weight": None, "areal_weight": parse_areal_weight("4 lb/ft2")}, "needs a height"),
        ({"weight": mass("0lb")}, "weight: expected more than 0"),
        ({"width": length("0in")}, "width: expected more than 0"),
        ({"near_edge": length("-1in")}, "near_edge: expected"),
        ({"width": mass("4lb")}, "lb is not a unit of length"),
        ({"weight": length("4in")}, "in is not a unit of mass"),
    ],
)
def test_a_part_that_cannot_be_is_named(changed, named):
    with pytest.raises(ValidationError, match=f"lock stile: .*{named}"):
        Part.model_validate({**dict(stile()), **changed})


def test_parts_that_fit_the_leaf_are_no_contradiction():
    whole = Part(name="rest", near_edge=length("0in"), width=length("32in"), weight=mass("110lb"))
    assert parts_contradiction((whole, stile()), length("914.4mm"), mass("150lb")) is None
    assert parts_contradiction((whole, stile()), None, None) is None


def test_a_part_beyond_the_latch_edge_is_named():
    assert parts_contradiction((stile("33in"),), length("36in"), None) == (
        "'lock stile' reaches 37.00 in from the hinge edge, and the leaf is 36 in wide"
    )


def test_parts_that_weigh_another_leaf_are_named():
    assert parts_contradiction((stile(),), length("36in"), mass("150lb")) == (
        "the parts weigh 40.0 lb together, and the leaf 150 lb"
    )
