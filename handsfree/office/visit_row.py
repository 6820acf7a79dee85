"""A visit as a row of the office's list; searching, filtering and paging the rows."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date
from typing import Literal, NamedTuple

from handsfree.job.record import Record
from handsfree.journal.plain_words import step_words
from handsfree.office.sign_off_blockers import Standing, standing, to_confirm
from handsfree.reports.next_service import next_service
from handsfree.reports.report_page import heading_of
from handsfree.visit_record.visit_record import VisitRecord

Only = Literal["all", "not-in-order", "not-reviewed", "due", "broken"]
PAGE = 50
"""Rows per page of the list."""


class VisitRow(Record):
    """Entry of a visit in the list, and the words it is found by.

    ``kind`` and ``verdict`` are the heading's; ``words`` are searched, without difference of case.
    ``due`` is the day of the next service, '' where there is none. ``opening_key`` is the same for
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
    wrong: bool = False
    standing: Standing
    to_confirm: int = 0
    to_decide: int = 0
    signed_by: str = ""
    due: str = ""
    opening_key: str = ""
    words: str
    problem: str


class Listed(NamedTuple):
    """A row of the list with the id of its visit."""

    id: str
    row: VisitRow


class ListQuery(NamedTuple):
    """A query of the list: words that must all occur, a filter, a page from 1."""

    words: str = ""
    only: Only = "all"
    page: int = 1


class ListPage(NamedTuple):
    """A page of the list, with the number of rows in all and under each filter."""

    rows: tuple[Listed, ...]
    total: int
    page: int
    pages: int
    counts: dict[Only, int]
    overdue: frozenset[str]


def row_of(visit: VisitRecord, folder: str) -> VisitRow:
    """The row of a visit; ``folder`` is its place below the office's folder."""
    sheet, name = visit.sheet, visit.opening.name
    heading, broken = heading_of(visit), visit.verification.broken
    due = next_service(visit)
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
        wrong=any(matter.kind == "not in order" for matter in visit.open_items),
        standing=standing(visit),
        to_confirm=len(to_confirm(visit)),
        to_decide=len(visit.undecided),
        signed_by=visit.sign_off.by if visit.sign_off is not None else "",
        due=due.isoformat() if due else "",
        opening_key="\n".join(" ".join(folded(t).split()) for t in (sheet.site, name)),
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
    """Text for searching without regard to case."""
    return text.casefold()


def choose(rows: Sequence[Listed], asked: ListQuery, today: date) -> ListPage:
    """The page that answers a query, newest visits first; under 'due', the earliest due first.

    Due are the newest visits at their openings whose next service lies in this month or before.
    """
    wanted = folded(asked.words).split()
    found = [each for each in rows if all(word in each.row.words for word in wanted)]
    due = _due(rows, f"{today:%Y-%m}")
    by_filter: dict[Only, list[Listed]] = {
        "all": found,
        "not-in-order": [each for each in found if each.row.wrong],
        "not-reviewed": [each for each in found if each.row.standing != "signed"],
        "due": [each for each in found if each.id in due],
        "broken": [each for each in found if each.row.standing == "broken"],
    }
    mine = by_filter[asked.only]
    if asked.only == "due":
        mine = sorted(mine, key=lambda each: (each.row.due, each.id))
    else:
        mine = sorted(mine, key=lambda each: (each.row.began, each.id), reverse=True)
    pages = max(1, -(-len(mine) // PAGE))
    page = min(max(1, asked.page), pages)
    shown = tuple(mine[(page - 1) * PAGE : page * PAGE])
    return ListPage(
        rows=shown,
        total=len(mine),
        page=page,
        pages=pages,
        counts={name: len(those) for name, those in by_filter.items()},
        overdue=frozenset(
            each.id for each in shown if each.id in due and each.row.due < today.isoformat()
        ),
    )


def _due(rows: Iterable[Listed], month: str) -> frozenset[str]:
    """The ids of the visits whose next service is due by the end of the month ('2026-03')."""
    newest: dict[str, Listed] = {}
    for each in rows:
        key = each.row.opening_key
        if each.row.due and (key not in newest or newest[key].row.ended < each.row.ended):
            newest[key] = each
    return frozenset(each.id for each in newest.values() if each.row.due[:7] <= month)
