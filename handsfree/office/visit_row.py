"""A visit as a row of the office's list."""

from __future__ import annotations

import unicodedata

from handsfree.job.record import Record
from handsfree.journal.plain_words import step_words
from handsfree.office.sign_off_blockers import Standing, standing, to_confirm
from handsfree.reports.next_service import next_service
from handsfree.reports.report_page import heading_of
from handsfree.visit_record.visit_record import VisitRecord

MOST_TOLD = 3
"""Largest number of problems listed in a row."""


class VisitRow(Record):
    """Entry of a visit in the list, and the words it is found by.

    ``kind`` and ``verdict`` are the heading's, ``wrong`` counts what fails or is too close to call,
    and ``told`` lists the first of these, or else of the heading's details. ``words`` are searched;
    case and accents do not matter.
    ``due`` is the day of the next service, '' if there is none. ``opening_key`` is the same for
    every visit at one opening. ``problem`` says what is broken, '' for a whole journal.
    """

    reference: str
    site: str = ""
    opening: str = ""
    technician: str = ""
    work: str = ""
    began: str = ""
    ended: str = ""
    kind: str
    verdict: str
    wrong: int = 0
    told: tuple[str, ...] = ()
    rehearsal: bool = False
    standing: Standing
    to_confirm: int = 0
    to_decide: int = 0
    signed_by: str = ""
    due: str = ""
    opening_key: str = ""
    words: str
    problem: str


def row_of(visit: VisitRecord, folder: str) -> VisitRow:
    """The row of a visit; ``folder`` is its path below the office's folder."""
    sheet, name = visit.sheet, visit.opening.name
    heading, broken = heading_of(visit), visit.verification.broken
    due = None if visit.rehearsal else next_service(visit)  # a simulated door needs no service
    wrong = [m.what for m in visit.open_items if m.kind in ("not OK", "too close")]
    words = (sheet.site, name, sheet.reference, sheet.technician, folder)
    work = step_words(visit.opened.procedure)
    told = (*words, sheet.note, work, *(note.now for note in visit.notes))
    return VisitRow(
        reference=sheet.reference,
        site=sheet.site,
        opening=name,
        technician=sheet.technician,
        work=work,
        began=visit.began,
        ended=visit.ended,
        kind=heading.kind,
        verdict=heading.words,
        wrong=len(wrong),
        told=tuple(wrong or heading.detail)[:MOST_TOLD],
        rehearsal=visit.rehearsal,
        standing=standing(visit),
        to_confirm=len(to_confirm(visit)),
        to_decide=len(visit.undecided),
        signed_by=visit.sign_off.by if visit.sign_off is not None else "",
        due=due.isoformat() if due else "",
        opening_key="\n".join(" ".join(t.casefold().split()) for t in (sheet.site, name)),
        words=folded("\n".join(told)),
        problem=f"line {broken.line}: {broken.what}" if broken is not None else "",
    )


def unreadable_row(folder: str, problem: str) -> VisitRow:
    """The row of a folder whose journal cannot be read."""
    return VisitRow(
        reference=folder,
        kind="none",
        verdict="Nothing of it can be shown",
        standing="broken",
        words=folded(folder),
        problem=problem,
    )


def folded(text: str) -> str:
    """Text for searching without regard to case and accents."""
    apart = unicodedata.normalize("NFKD", text.casefold())
    return "".join(letter for letter in apart if not unicodedata.combining(letter))
