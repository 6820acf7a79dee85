"""Every value of a limit set as a line of text, for the listing and the docs."""

from __future__ import annotations

from decimal import Decimal

from handsfree.checks.limit_set import NOT_NOTED, Limit, Limits, LimitSet, Sourced
from handsfree.job.record import Record

_WHAT = {
    "opening_floor": "opening, closed to backcheck or 80 degrees, any leaf",
    "closing_floor": "closing, 90 to 10 degrees, any leaf",
    "latching": "latching, 10 degrees to closed",
    "hold_open": "hold open, fully open until it starts to close",
    "hold_open_manual_start": "hold open after a start by hand",
    "backcheck_angle": "backcheck begins",
    "energy": "energy of the moving leaf",
    "stall_force": "force that stops the leaf, opening or closing",
    "release_force": "force by hand to release the latch, power off",
    "set_in_motion_force": "force by hand to set in motion, power off",
    "open_fully_force": "force by hand to open fully, power off",
    "sign_height_least": "centre of the caution sign above the floor, lowest",
    "sign_height_most": "centre of the caution sign above the floor, highest",
    "plate_height_least": "height of the plate, lowest",
    "plate_height_most": "height of the plate, highest",
    "plate_distance": "plate to the centre of the door",
    "plate_distance_least": "plate to the centre of the door, preferred, nearest",
    "plate_free_distance": "plate to the centre of the door, preferred, farthest",
    "hold_open_per_foot": "more hold open for each foot beyond the preferred distance",
    "inspection_interval": "time to the next inspection",
    "clear_width": "clear width of the way through",
    "switch_range": "how far a touchless switch sees a hand",
}


class Row(Record):
    """One value of a set: what it limits, how much, how binding it is and its source."""

    key: str
    what: str
    value: str
    binding: str
    source: str
    edition: str
    clause: str
    status: str
    note: str

    @property
    def where(self) -> str:
        """Clause and edition, if noted: '4.1.1 (1997)'."""
        edition = "" if self.edition == NOT_NOTED else f"({self.edition})"
        clause = "" if self.clause == NOT_NOTED else self.clause
        return f"{clause} {edition}".strip()


def limit_rows(limits: LimitSet) -> tuple[Row, ...]:
    """The single values of a set in their order, then its tables and formulas."""
    rows = []
    for key in Limits.model_fields:
        limit: Limit | None = getattr(limits.limit, key)
        if limit is not None:
            value = f"{limit.bound} {limit.value} {limit.unit}"
            rows.append(_row(key, _WHAT[key], value, str(limit.binding), limit))
    for key, what, value, table in _tables(limits):
        rows.append(_row(key, what, value, "requirement", table))
    return tuple(rows)


def looser_values(limits: LimitSet) -> tuple[str, ...]:
    """Every value that allows more than the extended set, each as a line of text."""
    tables = ((row[1], row[2], row[3]) for row in _tables(limits))
    single = (
        (_WHAT[key], f"{limit.bound} {limit.value} {limit.unit}", limit)
        for key in Limits.model_fields
        if (limit := getattr(limits.limit, key)) is not None
    )
    return tuple(
        f"{what}: {value}, looser than {sourced.looser_than}"
        for what, value, sourced in (*single, *tables)
        if sourced.looser_than
    )


def _tables(limits: LimitSet) -> list[tuple[str, str, str, Sourced]]:
    out: list[tuple[str, str, str, Sourced]] = []
    travel = "least travel time"
    if (one := limits.table_one) is not None:
        times = [seconds for row in one.seconds for seconds in row]
        value = f"{_span(one.widths_in)} in by {_span(one.weights_lb)} lb: {_span(times)} s"
        out.append(("table_one", f"{travel}, by width and weight", value, one))
    if (formula := limits.formula) is not None:
        value = (
            f"T = D·√W / {formula.constant_in_lb} (s, in, lb), "
            f"rounded up to {formula.round_up_to_s} s"
        )
        out.append(("formula", f"{travel}, sizes off the table", value, formula))
    if (physics := limits.physics) is not None:
        energy = f"{limits.limit.energy.value} {limits.limit.energy.unit}"
        value = f"that of {energy} over 80 degrees, rounded up to {physics.round_up_to_s} s"
        if physics.proven_step_s is not None:
            value += f" (to {physics.proven_step_s} s it fails, between them it is not proven)"
        out.append(("physics", travel, value, physics))
    if (two := limits.table_two) is not None:
        rows = zip(two.extra_s, two.backcheck_deg, strict=True)
        value = ", ".join(f"+ {extra} s with backcheck at {angle} deg" for extra, angle in rows)
        out.append(("table_two", "total opening, closed to 90 degrees, beyond that", value, two))
    return out


def _row(key: str, what: str, value: str, binding: str, sourced: Sourced) -> Row:
    return Row(
        key=key,
        what=what,
        value=value,
        binding=binding,
        source=sourced.source,
        edition=sourced.edition,
        clause=sourced.clause,
        status=str(sourced.status),
        note=sourced.note,
    )


def _span(values: list[Decimal] | tuple[Decimal, ...]) -> str:
    return f"{min(values)} to {max(values)}"
