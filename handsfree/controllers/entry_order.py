"""The order in which entries are made: the next one, and what has to be done again with one."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence

from handsfree.controllers.guide import LEARN, Guide
from handsfree.controllers.worked_out import WorkedOut


def walk_of(set_up: Iterable[WorkedOut], *, learn: bool) -> tuple[str, ...]:
    """The ids of a walk through the set-up, with the learn cycle at its end where it belongs."""
    return (*(each.step.id for each in set_up), *((LEARN,) if learn else ()))


def next_entry(
    guide: Guide, walk: Sequence[str], over: Collection[str], at: str | None
) -> str | None:
    """The first entry after ``at`` that is not over, else the first one at all, else None.

    What saves entries, and the learn cycle, come after all that is to be saved.
    """
    start = walk.index(at) + 1 if at in walk else 0
    in_order = (*walk[start:], *walk[:start])
    following = next((entry for entry in in_order if entry not in over), None)
    saves = {step.saved_by for step in guide.set_up} | {LEARN}
    if following is not None and following in saves:
        return next(entry for entry in walk if entry not in over)
    return following


def entry_before(walk: Sequence[str], at: str) -> str:
    """The entry before ``at``; the first one is before itself."""
    return walk[max(0, walk.index(at) - 1)] if at in walk else walk[0]


def done_again(guide: Guide, entry: str, made: Collection[str]) -> tuple[str, ...]:
    """The entries to be made when one is entered again, itself included, in the guide's order.

    As long as nothing that saves it was done, it is the entry alone. After that, what it needs
    comes again before it, and what saves it after it.
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
    """An entry with all that it needs and all that saves it."""
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
    """Steps that need each other in a circle; empty if no steps do."""

    def below(step: str, chain: tuple[str, ...]) -> tuple[str, ...]:
        if step in chain:
            return (*chain[chain.index(step) :], step)
        for needed in guide_steps.get(step, ()):
            if circle := below(needed, (*chain, step)):
                return circle
        return ()

    return next((circle for step in guide_steps if (circle := below(step, ()))), ())
