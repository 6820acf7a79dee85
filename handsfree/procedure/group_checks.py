"""Checks the steps that are asked as one question: which may be grouped, and how long it gets.

A life-critical step is always asked alone: nobody should answer 'all good' about the power being
off, a clear path, or a fire door.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from handsfree.errors import HandsfreeError
from handsfree.procedure.prompt_lint import MOST_WORDS
from handsfree.procedure.step import DONE, OK, Step
from handsfree.procedure.step_tables import PlacedStep

_LISTED = ("done", "observation")
"""The kinds of steps that a group's question lists by their ``item``."""
_KNOWN = ("choice", "reading")
"""The kinds of steps that are grouped if their values are known."""
_OWN_STAGES = ("power-off", "power-on", "learn", "fire")
"""Stages that are life-critical throughout."""


def group_faults(placed: Sequence[PlacedStep]) -> Iterator[HandsfreeError]:
    """Yields every fault of a group; ``placed`` are the steps in the order of the walk."""
    groups: dict[str, list[int]] = {}
    for nth, place in enumerate(placed):
        step = place.step
        if step.group is not None:
            yield from _member_faults(place)
            groups.setdefault(step.group, []).append(nth)
        elif step.item is not None:
            yield place.fault("has an item and no group", "item", 'add group = "..."')
    for name, members in groups.items():
        yield from _group_faults(name, members, placed)


def why_alone(step: Step) -> tuple[str, str] | None:
    """The reason why a step is asked alone, and the key to blame; None if it may be grouped."""
    if not step.may_skip:
        return "must not be skipped", "may_skip"
    if step.danger is not None:
        return f"is marked '{step.danger}'", "danger"
    if step.needs:
        return "stands behind a gate", "needs"
    if step.caution is not None or step.waits == "caution":
        return "has a caution", "caution"
    if step.stage in _OWN_STAGES:
        return f"belongs to the stage '{step.stage}'", "stage"
    if step.branch is not None:
        return "belongs to a branch", "branch"
    if step.guide is not None:
        return "is led by the guide of the controller", "guide"
    if step.attempts > 1:
        return "is measured again where it fails", "attempts"
    if leads := [answer for answer in (OK, DONE) if answer in step.on]:
        return f"leads on from '{leads[0]}'", "on"
    return None


def _member_faults(place: PlacedStep) -> Iterator[HandsfreeError]:
    step = place.step
    if (why := why_alone(step)) is not None:
        yield place.fault(
            f"is in the group '{step.group}' and {why[0]}, so it needs a question of its own",
            "group",
            f"leave its group out, or change its {why[1]}",
        )
    if step.waits in _LISTED and step.item is None:
        yield place.fault(
            "is in a group without an item",
            "group",
            'add item = "...", what is good about it in a few words',
        )
    if step.waits in _KNOWN and step.item is not None:
        yield place.fault(
            f"waits for a {step.waits} and has an item",
            "item",
            "leave it out: the question says the value",
        )


def _group_faults(
    name: str, members: list[int], placed: Sequence[PlacedStep]
) -> Iterator[HandsfreeError]:
    first, last = placed[members[0]], placed[members[-1]]
    for nth in members[1:]:
        place = placed[nth]
        if place.step.stage != first.step.stage:
            yield place.fault(
                f"is in the group '{name}', which begins in the stage '{first.step.stage}'"
                f" ({first.line})",
                "group",
                "a group stays within one stage",
            )
            return
        if _kind(place.step) != _kind(first.step):
            yield place.fault(
                f"waits for '{place.step.waits}' in the group '{name}', which begins with"
                f" '{first.step.waits}' ({first.line})",
                "waits",
                "group steps that one answer fits: observations, work that is done, or values",
            )
            return
    for nth in range(members[0], members[-1]):
        step = placed[nth].step
        if step.branch is None and step.group != name:
            yield last.fault(
                f"is in the group '{name}', and step '{step.id}' comes between"
                f" ({placed[nth].line})",
                "group",
                "keep the steps of a group together",
            )
            return
    spoken = " ".join(placed[nth].step.item or "" for nth in members)
    if (count := len(spoken.split())) > MOST_WORDS:
        yield last.fault(
            f"is in the group '{name}', whose question has {count} words; nobody remembers more"
            f" than {MOST_WORDS}",
            "group",
            "make the items shorter, or two groups of it",
        )


def _kind(step: Step) -> str:
    return "value" if step.waits in _KNOWN else step.waits
