import pytest

from handsfree.job.quantity import QUANTITIES, Quantity
from handsfree.job.unit import Measure, Unit, family_of


@pytest.mark.parametrize("quantity", list(Quantity))
def test_every_quantity_is_described_in_units_of_its_family(quantity: Quantity) -> None:
    facts = QUANTITIES[quantity]
    assert family_of(facts.unit) is family_of(facts.unit_metric) is facts.family
    assert facts.low < facts.high
    assert facts.default_unit("us") is facts.unit
    assert facts.default_unit("metric") is facts.unit_metric


@pytest.mark.parametrize(
    ("value", "unit", "plausible"),
    [
        ("18", Unit.INCH, True),
        ("17.9", Unit.INCH, False),
        ("1524", Unit.MILLIMETRE, True),
        ("1525", Unit.MILLIMETRE, False),
        ("36", Unit.MILLIMETRE, False),
    ],
)
def test_a_leaf_is_eighteen_to_sixty_inches_wide(value: str, unit: Unit, plausible: bool) -> None:
    measure = Measure(value=value, unit=unit)
    assert QUANTITIES[Quantity.LEAF_WIDTH].plausible(measure) is plausible
