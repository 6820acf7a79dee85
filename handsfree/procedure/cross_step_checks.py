"""Checks between the steps of a procedure, across all its files."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from handsfree.errors import HandsfreeError
from handsfree.job.closed_lists import COMPLAINTS
from handsfree.job.door_feature import FEATURES
from handsfree.procedure.condition import exclusive_pairs, feature_of, required_fact
from handsfree.procedure.step_tables import PlacedStep, tables
from handsfree.toml_source import TomlSource, nearest

OBSERVED = ("in_order", "not_in_order")


def duplicate_ids(sources: Iterable[TomlSource], table: str) -> Iterator[HandsfreeError]:
    """Yields a fault for every id that is used a second time, in any file."""
    first: dict[object, tuple[TomlSource, int]] = {}
    for source in sources:
        for nth, raw in tables(source, table):
            name = raw.get("id")
            line = source.line(table, nth)
            if name is None:
                continue
            if name not in first:
                first[name] = (source, line)
                continue
            where, before = first[name]
            place = f"line {before}" if where is source else f"{where.file}, line {before}"
            yield source.fault(
                f"duplicate id '{name}', first used on {place}",
                table, nth, "id", f"give each {table} its own id",
            )  # fmt: skip


def cross_step_faults(placed: Sequence[PlacedStep]) -> Iterator[HandsfreeError]:
    """Yields faults between steps, which are given in the order of the walk."""
    for nth, place in enumerate(placed):
        before = placed[:nth]
        yield from _same_name(place, before)
        yield from _same_fact(place, before)
        yield from _missing_fact(place, before)
        yield from _unknown_search(place, before)


def _same_name(place: PlacedStep, before: Iterable[PlacedStep]) -> Iterator[HandsfreeError]:
    """Finds a repeated brief prompt: open items are listed by them, so no two may be equal."""
    for other in before:
        if _name(place) == _name(other) and _possible(place, other):
            yield place.fault(
                f"has the brief prompt of step '{other.step.id}' ({other.line})",
                "brief",
                "use different words for each, so that they can be distinguished",
            )
            return


def _name(place: PlacedStep) -> tuple[str, str]:
    """A step's spoken name and the subjects it repeats for, which are part of the name."""
    step = place.step
    brief = step.brief.replace("{setting}", step.setting or "")
    return brief.casefold(), step.for_each


def _same_fact(place: PlacedStep, before: Iterable[PlacedStep]) -> Iterator[HandsfreeError]:
    """Finds a repeated fact: the second answer would replace the first."""
    for other in before:
        same = place.step.fact is not None and place.step.fact == other.step.fact
        if same and place.step.for_each == other.step.for_each and _possible(place, other):
            yield place.fault(
                f"files its answer as '{place.step.fact}', as step '{other.step.id}' does"
                f" ({other.line})",
                "fact",
                "give each its own fact",
            )
            return


def _missing_fact(place: PlacedStep, before: Sequence[PlacedStep]) -> Iterator[HandsfreeError]:
    """Finds a condition on a fact, or an answer, that no earlier step asks for."""
    asked: dict[str, set[str]] = {}
    for other in before:
        step = other.step
        if step.fact is not None and step.for_each == "opening":
            known = asked.setdefault(step.fact, set())
            known |= {option.value for option in step.options}
            known |= set(OBSERVED) if step.waits == "observation" else set()
    for condition in place.step.applies:
        if (fact := required_fact(condition)) is None:
            continue
        name, value = fact
        if feature_of(condition) is not None:
            values = FEATURES[name].values
            if value not in values:
                yield place.fault(
                    f"depends on '{name}' being '{value}', which no door is",
                    "applies",
                    nearest(value, values),
                )
        elif name not in asked:
            yield place.fault(
                f"depends on '{name}', which no earlier step finds out about the opening",
                "applies",
                nearest(name, asked) if asked else "ask for it in a choice or an observation",
            )
        elif value not in asked[name]:
            yield place.fault(
                f"depends on '{name}' being '{value}', which is not one of its answers",
                "applies",
                nearest(value, sorted(asked[name])),
            )


def _unknown_search(place: PlacedStep, before: Sequence[PlacedStep]) -> Iterator[HandsfreeError]:
    """Finds a search for something that is neither a complaint nor an earlier choice among
    complaints.
    """
    search = place.step.search
    if search is None or search in COMPLAINTS:
        return
    choices = {
        other.step.fact: [option.value for option in other.step.options]
        for other in before
        if other.step.waits == "choice" and other.step.for_each == "opening" and other.step.fact
    }
    if search not in choices:
        yield place.fault(
            f"offers a search for '{search}', which is no complaint and no earlier choice",
            "search",
            nearest(search, [*COMPLAINTS, *choices]),
        )
    elif wrong := [value for value in choices[search] if value not in COMPLAINTS]:
        yield place.fault(
            f"offers a search for '{search}', one of whose answers is '{wrong[0]}', no complaint",
            "search",
            nearest(wrong[0], COMPLAINTS),
        )


def _possible(one: PlacedStep, other: PlacedStep) -> bool:
    """True if two steps can occur in the same visit."""
    return not list(exclusive_pairs(dict.fromkeys((*one.step.applies, *other.step.applies))))
