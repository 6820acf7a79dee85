"""Plans which readings the office still has to confirm, one by one or after a sample.

Doubtful readings are listened to one by one. From the other spoken ones a random sample is drawn,
recorded in the journal and listened to; then the rest is confirmed together. If one reading of a
sample turns out wrong, every reading of its pool is listened to. Typed readings need no listening.
"""

from __future__ import annotations

from typing import NamedTuple

from handsfree.job.reading import Taken
from handsfree.visit_record.reading_story import ReadingStory
from handsfree.visit_record.visit_record import VisitRecord


class ReviewPlan(NamedTuple):
    """The valid readings not yet confirmed or corrected, each in one of four groups.

    ``alone`` are listened to one by one, most doubtful first, then ``sample``. No sample has been
    drawn from ``undrawn`` yet. ``together`` are confirmed together once nothing else is left.
    ``total`` counts all valid readings.
    """

    alone: tuple[ReadingStory, ...]
    sample: tuple[ReadingStory, ...]
    undrawn: tuple[ReadingStory, ...]
    together: tuple[ReadingStory, ...]
    total: int

    @property
    def listen(self) -> tuple[ReadingStory, ...]:
        """The readings to listen to now."""
        return (*self.alone, *self.sample)

    @property
    def left(self) -> tuple[ReadingStory, ...]:
        """Every reading that nobody has confirmed or corrected yet."""
        return (*self.alone, *self.sample, *self.undrawn, *self.together)

    @property
    def ready(self) -> tuple[str, ...]:
        """The ids of the readings that can be confirmed together now."""
        if self.listen or self.undrawn:
            return ()
        return tuple(item.id for item in self.together)


def review_plan(visit: VisitRecord) -> ReviewPlan:
    """The plan for the remaining readings of a visit."""
    drawn: set[str] = set()
    pools: set[str] = set()
    spoiled: set[str] = set()
    for sample in visit.samples:
        drawn |= set(sample.drawn)
        pools |= set(sample.pool)
        if any(_was_wrong(visit.reading(each)) for each in sample.drawn):
            spoiled |= set(sample.pool)
    parts: dict[str, list[ReadingStory]] = {name: [] for name in ReviewPlan._fields[:-1]}
    for item in visit.by_doubt:
        if item.reviewed:
            continue
        if item.doubt.alone or (item.id in spoiled and not _typed(item)):
            parts["alone"].append(item)
        elif _typed(item):
            parts["together"].append(item)
        elif item.id in drawn:
            parts["sample"].append(item)
        else:
            parts["together" if item.id in pools else "undrawn"].append(item)
    return ReviewPlan(total=len(visit.standing), **{k: tuple(v) for k, v in parts.items()})


def _typed(item: ReadingStory) -> bool:
    """True if there is nothing to hear: it was typed, or taken by a sensor."""
    return item.how == "typed" or item.now.taken in (Taken.TYPED, Taken.SENSOR)


def _was_wrong(item: ReadingStory | None) -> bool:
    """True if the office corrected or struck a reading."""
    if item is None:
        return False
    return bool(item.amendments) or (item.gone is not None and item.gone.how == "struck")
