"""Questions unusual values once, and accepts them when they are repeated.

If the same number would be usual in another unit, the unit is in doubt and has to be said too.
"""

from __future__ import annotations

from handsfree.dialogue import sentences
from handsfree.dialogue.turn import Turn
from handsfree.job.quantity import QUANTITIES, Quantity
from handsfree.job.unit import Measure, Unit, family_of
from handsfree.language.wording import sentence


def question(turn: Turn, quantity: Quantity, value: Measure, *, unit_said: bool) -> str | None:
    """The question about a value before it is read back; None if it can be read back at once."""
    again = turn.state.doubted == value
    if QUANTITIES[quantity].plausible(value):
        return None if again else _off_the_scale(turn, quantity, value)
    unit = _fits_elsewhere(quantity, value)
    if again and (unit_said or not unit):
        return None
    return sentences.implausible(turn.words, quantity, value, unit=unit)


def _fits_elsewhere(quantity: Quantity, value: Measure) -> bool:
    """True if the same number is plausible in another unit."""
    facts = QUANTITIES[quantity]
    others = (unit for unit in Unit if family_of(unit) is facts.family)
    return any(facts.plausible(Measure(value=value.value, unit=unit)) for unit in others)


def _off_the_scale(turn: Turn, quantity: Quantity, value: Measure) -> str | None:
    """The question about a setting that is off the controller's scale."""
    w, controller = turn.words, turn.state.procedure.controller
    scale = controller.range(quantity) if controller is not None else None
    if scale is None:
        return None
    low, high, step = scale
    if low <= value.value <= high and (value.value - low) % step == 0:
        return None
    return w.say(
        "off_the_scale",
        value=sentence(sentences.measure(w, value)),
        quantity=w.quantity(quantity),
        low=w.plain_measure(low, Unit.STEP),
        high=w.plain_measure(high, Unit.STEP),
        step=w.plain_measure(step, Unit.STEP),
    )
