"""What keeps the office from signing a visit off, each thing in plain words."""

from __future__ import annotations

from typing import Literal

from handsfree.job.record import Record
from handsfree.reports.dossier import Dossier
from handsfree.reports.dossier_parts import ReadingItem
from handsfree.reports.office_text import quantity_words, with_unit

Standing = Literal["broken", "unfinished", "open", "changed", "signed"]
"""Where a visit stands in the office: 'open' waits for review, 'changed' was signed before that."""


class Undecided(Record):
    """One thing that is not decided. ``where`` is its anchor on the visit's page."""

    kind: Literal["journal", "visit", "reading", "matter"]
    what: str
    where: str


def undecided(dossier: Dossier) -> tuple[Undecided, ...]:
    """Everything that hinders a sign-off; nothing when it can be signed."""
    found: list[Undecided] = []
    broken = dossier.verification.broken
    if broken is not None:
        found.append(Undecided(kind="journal", what=f"the journal {broken.told}", where="journal"))
    if not dossier.complete:
        what = "the visit is not finished: the technician goes on with 'handsfree resume'"
        found.append(Undecided(kind="visit", what=what, where="verdict"))
    found += [
        Undecided(
            kind="reading",
            what=f"{name_of(item)}: {with_unit(item.now.value, item.now.unit)}"
            " is neither confirmed nor corrected",
            where=f"reading-{item.id}",
        )
        for item in to_confirm(dossier)
    ]
    found += [
        Undecided(
            kind="matter",
            what=f"{matter.what}: {matter.kind}, and nothing is decided on it",
            where=f"matter-{nth}",
        )
        for nth, matter in enumerate(dossier.matters, start=1)
        if matter.decision is None
    ]
    return tuple(found)


def to_confirm(dossier: Dossier) -> tuple[ReadingItem, ...]:
    """The readings that nobody has confirmed or corrected, the most doubtful first."""
    return tuple(i for i in dossier.by_doubt if i.confirmed_by is None and not i.amendments)


def standing(dossier: Dossier) -> Standing:
    """Where the visit stands in the office."""
    if dossier.verification.broken is not None:
        return "broken"
    if dossier.signed:
        return "signed"
    if not dossier.complete:
        return "unfinished"
    return "changed" if dossier.sign_off is not None else "open"


def name_of(item: ReadingItem) -> str:
    """'left leaf, opening time (r12)'."""
    return f"{item.now.subject}, {quantity_words(item.now.quantity)} ({item.id})"
