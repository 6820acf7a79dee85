"""The possible corrections of a reading, a choice or an observation."""

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
"""Facts that determine the opening, with their possible values."""


class ImplausibleValue(OfficeError):
    """A value outside the plausible range of its quantity that was not confirmed."""


def answers_of(name: str, value: str, procedure: Procedure | None) -> list[str]:
    """The possible values of a choice or an observation, including the present one.

    ``procedure`` is that of the visit; None, if it is not available, offers every answer of any
    visit.
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
    """Raises OfficeError for a value that this choice or observation cannot have."""
    observed = _OBSERVED if old in _OBSERVED else CHOICES
    if new not in _BUILT_ON.get(name, observed):
        raise OfficeError(f"'{new}' is not a possible answer", way_out="choose one from the list")


def new_measure(now: Reading, typed: str, *, sure: bool) -> Measure:
    """The typed value, by default in the unit that the reading has ``now``.

    Raises OfficeError for an impossible or unchanged value, or for an implausible one without
    ``sure``.
    """
    facts = QUANTITIES[now.quantity]
    text = typed.replace(",", ".").replace("°", " deg")
    try:
        new = parse_measure(text, facts.family, now.unit)
    except BadValue as error:
        raise OfficeError(error.message, way_out=error.way_out) from error
    if (new.value, new.unit) == (now.value, now.unit):
        raise OfficeError(f"the value is already {new}", way_out="confirm it if it is right")
    if new.value < 0:
        raise OfficeError(
            f"{new} is negative; no {facts.spoken} is",
            way_out="give the value that was said",
        )
    if not facts.plausible(new) and not sure:
        raise ImplausibleValue(
            f"{new} is not a plausible {facts.spoken}: {facts.plausible_range}",
            way_out="tick 'it really was so' if it was",
        )
    return new
