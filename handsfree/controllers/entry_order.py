"""The order of a guide's entries: the next one, and those to repeat with another."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence

from handsfree.controllers.guide import LEARN, Guide
from handsfree.controllers.worked_out import WorkedOut


def walk_of(set_up: Iterable[WorkedOut], *, learn: bool) -> tuple[str, ...]:
    """The ids of the walk through the set-up, ending with the learn cycle if it belongs there."""
    return (*(each.step.id for each in set_up), *((LEARN,) if learn else ()))


def next_entry(
    guide: Guide, walk: Sequence[str], over: Collection[str], at: str | None
) -> str | None:
    """The first open entry after ``at``, otherwise the first open one, otherwise None.

    Steps that save entries, and the learn cycle, come after everything that they save.
    """
    start = walk.index(at) + 1 if at in walk else 0
    in_order = (*walk[start:], *walk[:start])
    following = next((entry for entry in in_order if entry not in over), None)
    saves = {step.saved_by for step in guide.set_up} | {LEARN}
    if following is not None and following in saves:
        return next(entry for entry in walk if entry not in over)
    return following


def entry_before(walk: Sequence[str], at: str) -> str:
    """The entry before ``at``; the first one precedes itself."""
    return walk[max(0, walk.index(at) - 1)] if at in walk else walk[0]


def done_again(guide: Guide, entry: str, made: Collection[str]) -> tuple[str, ...]:
    """The entries to repeat when one is entered again, itself included, in the guide's order.

    Before it has been saved, that is the entry alone. After that, the entries that it needs come
    before it and the step that saves it comes after it.
    """
    step = guide.step(entry)
    if step is None:
        return (entry,)
    closure = {entry}
    if step.saved_by in made or not step.saved_by:
        closure |= _with(guide, entry)
    order = [each.id for each in guide.set_up]
    return tuple(each for each in order if each in closure)


def _with(guide: Guide, entry: str) -> set[str]:
    """An entry with everything that it needs and everything that saves it."""
    found: set[str] = set()
    waiting = [entry]
    while waiting:
        each = waiting.pop()
        if each in found:
            continue
        found.add(each)
        if (step := guide.step(each)) is not None:
            waiting += [*step.needs, *((step.saved_by,) if step.saved_by else ())]
    return found


def circle_of(guide_steps: dict[str, tuple[str, ...]]) -> tuple[str, ...]:
    """Steps that need each other in a circle; empty without a circle."""

    def below(step: str, chain: tuple[str, ...]) -> tuple[str, ...]:
        if step in chain:
            return (*chain[chain.index(step) :], step)
        for needed in guide_steps.get(step, ()):
            if circle := below(needed, (*chain, step)):
                return circle
        return ()

    return next((circle for step in guide_steps if (circle := below(step, ()))), ())
