"""The charts of a visit: times, energy and forces of each leaf against their limits."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal
from typing import NamedTuple

from markupsafe import Markup

from handsfree.checks.leaf_energy import RULES
from handsfree.checks.measured_energy import MEASURED_RULES
from handsfree.job.finding import Binding, Finding
from handsfree.job.quantity import QUANTITIES, Quantity
from handsfree.job.reading import Subject
from handsfree.job.unit import Family, Unit, convert, family_of
from handsfree.reports.chart_svg import Gauge, LimitLine, chart_svg, largest_of
from handsfree.reports.reading_rows import findings_on, first_and_last, verdict_of
from handsfree.visit_record.event_words import with_unit
from handsfree.visit_record.reading_story import ReadingStory
from handsfree.visit_record.visit_record import VisitRecord

_ENERGY = (*RULES.values(), *MEASURED_RULES.values())


class Chart(NamedTuple):
    """A chart with its caption."""

    caption: str
    svg: Markup


class LeafCharts(NamedTuple):
    """The charts of one leaf or of another subject."""

    subject: str
    charts: tuple[Chart, ...]


def charts_of(visit: VisitRecord) -> tuple[LeafCharts, ...]:
    """The charts of each subject with a time or a force, leaves first."""
    of: dict[Subject, dict[Quantity, list[ReadingStory]]] = {}
    for item in visit.standing:
        of.setdefault(item.now.subject, {}).setdefault(item.now.quantity, []).append(item)
    by_subject = [(subject, _drafts(subject, of[subject])) for subject in sorted(of, key=_order)]
    # Charts of the same kind and unit share one axis, so that the leaves can be compared.
    reach: dict[tuple[str, str], float] = {}
    for _, drafts in by_subject:
        for draft in drafts:
            kind = (draft.kind, draft.unit)
            reach[kind] = max(reach.get(kind, 0.0), largest_of(draft.gauges))
    return tuple(
        LeafCharts(subject, tuple(_drawn(d, reach[d.kind, d.unit]) for d in drafts))
        for subject, drafts in by_subject
        if drafts
    )


class _Draft(NamedTuple):
    """A chart before it is drawn; ``kind`` is time, force or energy."""

    kind: str
    unit: str
    title: str
    gauges: tuple[Gauge, ...]


def _drafts(subject: Subject, by_quantity: dict[Quantity, list[ReadingStory]]) -> list[_Draft]:
    drafts = (
        _measured(f"Times of the {subject}", by_quantity, Family.TIME),
        _energy(subject, by_quantity),
        _measured(f"Forces at the {subject}", by_quantity, Family.FORCE),
    )
    return [draft for draft in drafts if draft is not None]


def _drawn(draft: _Draft, until: float) -> Chart:
    bars = draft.kind == "energy"
    unit = "seconds" if draft.unit == Unit.SECOND else draft.unit
    svg = chart_svg(draft.title, draft.gauges, bars=bars, until=until)
    return Chart(f"{draft.title}, in {unit}", Markup(svg))


def _order(subject: Subject) -> int:
    return list(Subject).index(subject)


def _measured(
    title: str, by_quantity: dict[Quantity, list[ReadingStory]], family: Family
) -> _Draft | None:
    gauges: list[Gauge] = []
    unit = None
    for quantity in Quantity:  # in the order of a cycle, not of the visit
        items = by_quantity.get(quantity, [])
        if not items or QUANTITIES[quantity].family is not family:
            continue
        if any(family_of(item.now.unit) is not family for item in items):
            continue
        unit = unit or items[-1].now.unit
        gauges.append(_gauge(quantity, items, unit))
    return None if unit is None else _Draft(family, unit, title, tuple(gauges))


def _gauge(quantity: Quantity, items: list[ReadingStory], unit: Unit) -> Gauge:
    found, left = first_and_last(items)
    mine = [f for f in findings_on(left) if f.rule not in _ENERGY and f.limit is not None]
    worst = _ruling(mine)
    last = [convert(item.now.value, item.now.unit, unit) for item in left]
    mean = worst.reading if worst is not None and worst.unit == unit else None
    told = with_unit(mean if mean is not None else last[-1], unit, worst.limit if worst else None)
    kind, words = verdict_of(worst) if worst is not None else ("none", "")
    return Gauge(
        name=QUANTITIES[quantity].spoken,
        found=tuple(float(convert(i.now.value, i.now.unit, unit)) for i in found),
        left=tuple(float(value) for value in last),
        limits=tuple(line for f in mine if (line := _line(f, unit)) is not None),
        verdict=kind,
        told=f"{told}, {words}" if words else told,
    )


def _energy(subject: Subject, by_quantity: dict[Quantity, list[ReadingStory]]) -> _Draft | None:
    """The energy of each movement: the largest one if a sensor measured it, otherwise at mean
    speed.
    """
    gauges: list[Gauge] = []
    measured: set[bool] = set()
    unit = ""
    for quantity in RULES:
        found, left = first_and_last(by_quantity.get(quantity, []))
        now = next((f for f in findings_on(left) if f.rule in _ENERGY), None)
        then = next((f for f in findings_on(found) if now and f.rule == now.rule), None)
        if now is None or now.reading is None:
            continue
        unit = unit or now.unit
        measured.add(now.rule not in RULES.values())
        kind, words = verdict_of(now)
        line = _line(now, unit)
        before = () if then is None or then.reading is None else (float(then.reading),)
        gauges.append(
            Gauge(
                name=now.rule,
                found=before,
                left=(float(now.reading),),
                limits=() if line is None else (line,),
                verdict=kind,
                told=f"{with_unit(now.reading, now.unit, now.limit)}, {words}",
            )
        )
    if not gauges:
        return None
    titles = {
        frozenset({False}): f"Energy of the {subject} at mean speed",
        frozenset({True}): f"Largest energy of the {subject}",
    }
    title = titles.get(frozenset(measured), f"Energy of the {subject}, measured and at mean speed")
    return _Draft("energy", unit, title, tuple(gauges))


def _ruling(findings: Iterable[Finding]) -> Finding | None:
    """The finding to show in a gauge: the worst requirement, otherwise the worst recommendation."""
    rank = {"fail": 0, "close": 1, "unjudged": 2, "pass": 3, "advised": 4}

    def order(found: Finding) -> tuple[bool, int]:
        return found.binding is not Binding.REQUIREMENT, rank[verdict_of(found)[0]]

    return min(findings, key=order, default=None)


def _line(found: Finding, unit: str) -> LimitLine | None:
    """A finding's limit in the unit of the chart; None if it has another kind of unit."""
    known = tuple(Unit)
    if found.limit is None or found.unit not in known or unit not in known:
        return None
    own, wanted = Unit(found.unit), Unit(unit)
    if family_of(own) is not family_of(wanted):
        return None
    return LimitLine(
        value=float(convert(found.limit, own, wanted)),
        at_least=found.bound == "at least",
        band=abs(float(convert(found.guard_band or Decimal(0), own, wanted))),
        required=found.binding is Binding.REQUIREMENT,
    )
