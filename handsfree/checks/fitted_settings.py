"""The controller setting that should meet a limit, from runs at known settings."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal

from handsfree.checks.advice import target
from handsfree.checks.applicable_limits import ApplicableLimit, applicable_limits
from handsfree.checks.leaf_energy import energy_time_s
from handsfree.checks.limit_set import LimitSet
from handsfree.checks.measurement_uncertainty import decide, uncertainty_of
from handsfree.checks.number_format import figure
from handsfree.checks.setting_fit import Advised, NoFit, Scale, Tried, advise_setting, fit_setting
from handsfree.job.finding import Verdict
from handsfree.job.job import Job, leaf_side
from handsfree.job.quantity import Quantity
from handsfree.job.reading import Subject
from handsfree.job.record import Record
from handsfree.job.unit import Unit, convert

_MOVEMENTS = (Quantity.OPENING_TIME, Quantity.CLOSING_TIME, Quantity.LATCHING_TIME)


class Fitted(Record):
    """The fit of one movement; ``advised`` is None without a fit, or if no change is needed."""

    quantity: Quantity
    subject: Subject
    words: str
    advised: Advised | None = None


def fitted_settings(
    job: Job, limits: LimitSet, settings: Mapping[str, Decimal], scale: Scale
) -> tuple[Fitted, ...]:
    """The setting to try next, for every movement with readings at known settings.

    ``settings`` maps the ids of readings to the setting that they were taken at. The aim is
    that of the advice for time or energy, whichever is stricter. A movement whose limit is
    not known yet is left out.
    """
    moved = dict.fromkeys((r.quantity, r.subject) for r in job.readings if r.id in settings)
    found = (
        _fitted(job, limits, quantity, subject, settings, scale)
        for quantity, subject in moved
        if quantity in _MOVEMENTS
    )
    return tuple(one for one in found if one is not None)


def _fitted(
    job: Job,
    limits: LimitSet,
    quantity: Quantity,
    subject: Subject,
    settings: Mapping[str, Decimal],
    scale: Scale,
) -> Fitted | None:
    least_s = _least_s(job, limits, quantity, subject)
    if least_s is None:
        return None
    mine = [r for r in job.readings if (r.quantity, r.subject) == (quantity, subject)]
    by_setting = {
        setting: tuple(r for r in mine if settings.get(r.id) == setting)
        for setting in dict.fromkeys(settings[r.id] for r in mine if r.id in settings)
    }
    tried = tuple(
        Tried(setting=setting, time=uncertainty_of(runs, Unit.SECOND))
        for setting, runs in by_setting.items()
    )
    last = tried[-1]
    if decide(last.time, least_s, "at least", "guarded") is Verdict.PASS:
        words = f"setting {figure(last.setting)} passes, so leave it there"
        return Fitted(quantity=quantity, subject=subject, words=words)
    fit = fit_setting(tried, scale.direction)
    if isinstance(fit, NoFit):
        return Fitted(quantity=quantity, subject=subject, words=fit.why)
    aim_s = target(last.time, least_s, "at least")
    advised = advise_setting(fit, aim_s, scale, least_s=least_s, slower_than=last.setting)
    return Fitted(quantity=quantity, subject=subject, words=advised.words, advised=advised)


def _least_s(job: Job, limits: LimitSet, quantity: Quantity, subject: Subject) -> Decimal | None:
    """The longest time that a requirement demands (s)."""
    asked = [
        convert(held.value, held.unit, Unit.SECOND)
        for held in applicable_limits(job, limits, quantity, subject)
        if isinstance(held, ApplicableLimit)
    ]
    side = leaf_side(subject)
    leaf = job.opening.leaf(side) if side else None
    if asked and leaf is not None:
        by_energy = energy_time_s(leaf, limits, quantity)
        asked += [by_energy] if by_energy is not None else []
    return max(asked, default=None)
