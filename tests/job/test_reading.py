import pytest
from pydantic import ValidationError

from handsfree.job.quantity import Quantity
from handsfree.job.reading import Reading, Subject, Taken
from handsfree.job.unit import Unit


def reading(value: str) -> Reading:
    return Reading(
        id="r1",
        quantity=Quantity.OPENING_TIME,
        subject=Subject.LEFT_LEAF,
        value=value,
        unit=Unit.SECOND,
        taken=Taken.SAID,
    )


def test_a_reading_keeps_its_value_as_it_was_said() -> None:
    assert str(reading("6.20").measure) == "6.20 s"


@pytest.mark.parametrize(("value", "plausible"), [("0.5", True), ("20", True), ("62", False)])
def test_plausible(value: str, plausible: bool) -> None:
    assert reading(value).plausible() is plausible


def test_a_reading_cannot_be_changed() -> None:
    with pytest.raises(ValidationError, match="frozen"):
        reading("6.2").value = "6.3"
