"""The values that a reading, a choice or an observation can be corrected to."""

from __future__ import annotations

from handsfree.errors import BadValue, OfficeError
from handsfree.job.closed_lists import CHOICES
from handsfree.job.door_feature import FEATURES
from handsfree.job.opening import Action, Side, WeightSource
from handsfree.job.quantity import QUANTITIES
from handsfree.job.reading import Reading
from handsfree.job.unit import Measure, parse_measure
from handsfree.procedure.step import Procedure

_OBSERVED = ("in_order", "not_in_order")
_BUILT_ON = {
    "leaf": tuple(Side),
    "hand": tuple(Side),
    "hinge_side": tuple(Side),
    "weight_source": tuple(WeightSource),
    "action": tuple(Action),
    **{name: each.accepted for name, each in FEATURES.items()},
}
"""The facts that the opening follows from, with the only values that they can have."""


class ImplausibleValue(OfficeError):
    """A value outside the plausible range of its quantity that nobody said was meant."""


def answers_of(name: str, value: str, procedure: Procedure | None) -> list[str]:
    """The values that a choice or an observation can be corrected to, the present one among them.

    ``procedure`` is that of the visit, None where it is not at hand: then every word that can be
    chosen in some visit is offered.
    """
    if name in _BUILT_ON:
        return [str(each) for each in _BUILT_ON[name]]
    known: list[str] = []
    for step in procedure.steps if procedure is not None else ():
        if step.fact == name:
            known += _OBSERVED if step.waits == "observation" else [o.value for o in step.options]
    if value in _OBSERVED or not known:
        known = [*(_OBSERVED if value in _OBSERVED else CHOICES)]
    return list(dict.fromkeys((*known, value)))


def refuse_unknown_answer(name: str, old: str, new: str) -> None:
    """Raises OfficeError for a value that such a choice or observation cannot have."""
    observed = _OBSERVED if old in _OBSERVED else CHOICES
    if new not in _BUILT_ON.get(name, observed):
        raise OfficeError(f"'{new}' is no answer here", way_out="choose one of the list")


def new_measure(now: Reading, typed: str, *, sure: bool) -> Measure:
    """The value as it was typed, by default in the unit that the reading has ``now``.

    Raises OfficeError for what is no value of the quantity, is the one that it has, or is not
    plausible and not meant for ``sure``.
    """
    facts = QUANTITIES[now.quantity]
    text = typed.replace(",", ".").replace("°", " deg")
    try:
        new = parse_measure(text, facts.family, now.unit)
    except BadValue as error:
        raise OfficeError(error.message, way_out=error.way_out) from error
    if (new.value, new.unit) == (now.value, now.unit):
        raise OfficeError(
            f"that is the value that it has: {new}", way_out="confirm it, where it is right"
        )
    if new.value < 0:
        raise OfficeError(
            f"{new} is less than nothing: no {facts.spoken} is",
            way_out="give the value that was said",
        )
    if not facts.plausible(new) and not sure:
        raise ImplausibleValue(
            f"{new} is no plausible {facts.spoken}: it lies {facts.plausible_range}",
            way_out="tick 'it really was so' where it was",
        )
    return new
