"""The table of quantities: its rows, its faults with their line, and its units against pint."""

from __future__ import annotations

import ast
from decimal import Decimal
from pathlib import Path

import pint
import pytest

import handsfree
from handsfree.checks.limit_set import Limits
from handsfree.errors import HandsfreeError
from handsfree.job.quantity import FILE, QUANTITIES, SETTINGS, Quantity, SubjectKind, read_rows
from handsfree.job.unit import Measure, Unit, family_of
from handsfree.toml_source import TomlSource

SOURCES = sorted(Path(handsfree.__file__).parent.rglob("*.py"))
# pint's names (its registry: seen) of the units whose symbol it reads otherwise or not at all.
PINT = {"in": "inch", "lbf": "force_pound", "deg": "degree", "1": "", "step": "", "lb": "pound"}
ROW = """\
[unlock_time]
family = "time"
unit = "s"
low = 0
high = 10
resolution = 0.1
of = "opening"
en.name = "unlock time"
en.say = ["unlock time"]
en.does = "how long it unlocks"
"""


def test_a_member_is_named_after_its_row() -> None:
    assert [quantity.name.lower() for quantity in Quantity] == [str(q) for q in QUANTITIES]
    assert Quantity("opening_time") is Quantity.OPENING_TIME


@pytest.mark.slow
def test_a_quantity_that_code_names_is_a_row_and_declared() -> None:
    """A declared name without a row would only fail where it is used."""
    assert Quantity.__annotations__.keys() <= Quantity.__members__.keys()
    named = {
        node.attr
        for file in SOURCES
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8")))
        if isinstance(node, ast.Attribute)
        and isinstance(node.value, ast.Name)
        and node.value.id == "Quantity"
    }
    assert named == Quantity.__annotations__.keys()


@pytest.mark.parametrize("quantity", Quantity)
def test_every_quantity_is_described_in_units_of_its_family(quantity: Quantity) -> None:
    facts = QUANTITIES[quantity]
    assert family_of(facts.unit) is family_of(facts.unit_metric) is facts.family
    assert facts.low < facts.high
    assert facts.default_unit("us") is facts.unit
    assert facts.default_unit("metric") is facts.unit_metric


@pytest.fixture(scope="module")
def registry() -> pint.UnitRegistry:
    return pint.get_application_registry()


@pytest.mark.parametrize("quantity", [q for q in Quantity if QUANTITIES[q].unit != "month"])
def test_a_range_is_the_same_in_either_unit_by_pint(
    registry: pint.UnitRegistry, quantity: Quantity
) -> None:
    facts = QUANTITIES[quantity]
    for value, inside in ((facts.low, True), (facts.high, True), (facts.high * 2, False)):
        named = registry.Quantity(float(value), PINT.get(facts.unit, facts.unit))
        other = named.to(PINT.get(facts.unit_metric, facts.unit_metric)).magnitude
        # A thousandth of a unit inward: the conversion there and back is not exact.
        inward = Decimal("0.999") if value == facts.high else Decimal("1.001")
        measure = Measure(value=Decimal(repr(other)) * inward, unit=facts.unit_metric)
        assert facts.plausible(measure) is inside


def test_a_limit_that_a_row_names_is_one_of_a_limit_set() -> None:
    named = [key for facts in QUANTITIES.values() for key in facts.limits]
    assert len(named) == len(set(named)) + 1  # opening and closing share the stall force
    assert set(named) <= Limits.model_fields.keys()


def test_no_option_of_check_is_given_twice() -> None:
    options = [facts.option for facts in QUANTITIES.values() if facts.option]
    assert len(options) == len(set(options))
    assert all(bool(facts.option) is bool(facts.option_help) for facts in QUANTITIES.values())


def test_settings_are_what_is_on_the_scale_of_a_controller() -> None:
    assert SETTINGS[0] is Quantity.OPENING_SPEED
    assert {QUANTITIES[setting].unit for setting in SETTINGS} == {Unit.STEP}


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


# --- a row that is not valid


def rows(text: str) -> dict:
    return read_rows(TomlSource(text, "quantities.toml", HandsfreeError))


def test_a_row_is_read() -> None:
    (facts,) = rows(ROW).values()
    assert (facts.spoken, facts.of, facts.use) == ("unlock time", SubjectKind.OPENING, None)
    assert facts.words["en"].say == ("unlock time",)
    assert facts.unit_metric is Unit.SECOND


@pytest.mark.parametrize(
    ("old", "new", "line", "says"),
    [
        ('unit = "s"', 'unit = "in"', 3, "unit: 'in' is not a unit of time"),
        ('unit = "s"', 'unit = "h"', 3, "unit: "),
        ("high = 10", "high = 0", 4, "low: 0 is not below high, 0"),
        ('of = "opening"', 'of = "door"', 7, "of: "),
        ('of = "opening"\n', "", 1, "of: is missing"),
        ("resolution = 0.1", "resolution = 0", 6, "resolution: "),
        ("high = 10", "hihg = 10", 5, "hihg: no such key"),
        ('en.say = ["unlock time"]', "en.say = []", 9, "words.en.say: "),
        ('en.does = "how long it unlocks"', 'es.does = "x"', 1, "words.en.does: is missing"),
        ('en.name = "unlock time"', 'en.nam = "x"', 8, "en.nam"),
        ("[unlock_time]", "[unlock_time", 1, "not valid TOML"),
    ],
)
def test_a_wrong_row_is_named_with_its_line(old: str, new: str, line: int, says: str) -> None:
    assert old in ROW
    with pytest.raises(HandsfreeError, match="quantities") as caught:
        rows(ROW.replace(old, new))
    assert (caught.value.line, says in caught.value.message) == (line, True), caught.value


def test_the_file_explains_every_key() -> None:
    head = FILE.read_text(encoding="utf-8").partition("\n\n# ---")[0]
    keys = {key for _, row in TomlSource(FILE.read_text(encoding="utf-8"), FILE, HandsfreeError)
            .data.items() for key in row}  # fmt: skip
    for key in keys - {"en", "es", "open_angle", "switch_range", "option_help"}:
        assert f"{key} " in head or f"{key}," in head, key
