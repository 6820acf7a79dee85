"""The reasons why a visit cannot be signed off yet, in plain words."""

from __future__ import annotations

from typing import Literal

from handsfree.job.record import Record
from handsfree.visit_record.event_words import quantity_words, with_unit
from handsfree.visit_record.reading_story import ReadingStory
from handsfree.visit_record.visit_record import VisitRecord

Standing = Literal["broken", "unfinished", "open", "changed", "signed"]
"""The review state of a visit: 'open' awaits review, 'changed' was changed after a sign-off."""


class Blocker(Record):
    """One reason against signing off. ``where`` is its anchor on the visit's page."""

    kind: Literal["journal", "visit", "reading", "matter"]
    what: str
    where: str


def blockers(visit: VisitRecord) -> tuple[Blocker, ...]:
    """Every reason against a sign-off; empty if the visit can be signed."""
    found: list[Blocker] = []
    broken = visit.verification.broken
    if broken is not None:
        found.append(Blocker(kind="journal", what=f"the journal {broken.told}", where="journal"))
    if not visit.complete:
        what = "the visit is not finished: the technician resumes it with 'handsfree resume'"
        found.append(Blocker(kind="visit", what=what, where="verdict"))
    found += [
        Blocker(
            kind="reading",
            what=f"{name_of(item)}: {with_unit(item.now.value, item.now.unit)}"
            " is neither confirmed nor corrected",
            where=f"reading-{item.id}",
        )
        for item in to_confirm(visit)
    ]
    found += [
        Blocker(
            kind="matter",
            what=f"{matter.what}: {matter.kind}, and nothing is decided on it",
            where=f"matter-{nth}",
        )
        for nth, matter in enumerate(visit.open_items, start=1)
        if matter.decision is None
    ]
    return tuple(found)


def to_confirm(visit: VisitRecord) -> tuple[ReadingStory, ...]:
    """The readings not yet confirmed or corrected, most doubtful first."""
    return tuple(item for item in visit.by_doubt if not item.reviewed)


def standing(visit: VisitRecord) -> Standing:
    """The review state of a visit."""
    if visit.verification.broken is not None:
        return "broken"
    if visit.signed:
        return "signed"
    if not visit.complete:
        return "unfinished"
    return "changed" if visit.sign_off is not None else "open"


def name_of(item: ReadingStory) -> str:
    """'left leaf, opening time (r12)'."""
    return f"{item.now.subject}, {quantity_words(item.now.quantity)} ({item.id})"
