"""Searches, filters, orders and pages the rows of the office's list."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from typing import Any, Literal, NamedTuple, get_args
from urllib.parse import urlencode

from handsfree.office.visit_row import VisitRow, folded
from handsfree.reports.next_service import day_of

Only = Literal["all", "not-in-order", "not-reviewed", "due", "broken"]
Verdict = Literal["any", "fail", "close", "pass", "none"]
Order = Literal["waiting", "newest", "door"]
PAGE = 50
"""Rows per page of the list."""
MOST_TECHNICIANS = 100
"""Largest number of names offered as a filter: those with the most visits."""


class Listed(NamedTuple):
    """A row of the list with the id of its visit."""

    id: str
    row: VisitRow


class ListQuery(NamedTuple):
    """A query of the list.

    ``q`` holds words that must all occur; so do ``technician`` and ``door`` (site and opening) for
    their columns. ``since`` and ``until`` are days of the visit ('2026-03-04'), both included.
    ``page`` counts from 1.
    """

    q: str = ""
    only: Only = "all"
    verdict: Verdict = "any"
    technician: str = ""
    door: str = ""
    since: str = ""
    until: str = ""
    rehearsals: bool = False
    order: Order = "waiting"
    page: int = 1

    @property
    def filtered(self) -> bool:
        """True if any filter other than words and tabs is set."""
        return self._replace(q="", only="all", order="waiting", page=1) != ListQuery()

    @property
    def address(self) -> str:
        """The address of this page of the list."""
        given = {k: v for k, v in self._asdict().items() if v != getattr(ListQuery(), k)}
        return f"/?{urlencode(given)}" if given else "/"


class ListPage(NamedTuple):
    """A page of the list, with the number of rows in total and under each filter.

    ``left_out`` counts the rehearsals left out.
    """

    rows: tuple[Listed, ...]
    total: int
    page: int
    pages: int
    counts: dict[Only, int]
    overdue: frozenset[str]
    left_out: int = 0
    technicians: tuple[str, ...] = ()


def list_query(given: Mapping[str, str]) -> ListQuery:
    """Parses the query in an address; unknown parameters are ignored."""
    number = given.get("page", "")
    return ListQuery(
        q=given.get("q", "")[:200],
        only=_one_of(Only, given.get("only")),
        verdict=_one_of(Verdict, given.get("verdict")),
        technician=given.get("technician", "")[:80],
        door=given.get("door", "")[:200],
        since=_day(given.get("since", "")),
        until=_day(given.get("until", "")),
        rehearsals="rehearsals" in given,
        order=_one_of(Order, given.get("order")),
        page=int(number) if number.isdecimal() and len(number) < 7 else 1,
    )


def choose(rows: Sequence[Listed], asked: ListQuery, today: date) -> ListPage:
    """The page that answers a query; 'due' lists the earliest due first.

    'Due' covers the latest visit to each opening whose next service is this month or earlier.
    """
    mine = [each for each in rows if asked.rehearsals or not each.row.rehearsal]
    found = _found(mine, asked)
    due = _due(mine, f"{today:%Y-%m}")
    by_filter: dict[Only, list[Listed]] = {
        "all": found,
        "not-in-order": [each for each in found if each.row.kind == "fail"],
        "not-reviewed": [each for each in found if each.row.standing != "signed"],
        "due": [each for each in found if each.id in due],
        "broken": [each for each in found if each.row.standing == "broken"],
    }
    chosen = by_filter[asked.only]
    if asked.only == "due":
        chosen = sorted(chosen, key=lambda each: (each.row.due, each.id))
    else:
        chosen = _ordered(chosen, asked.order)
    pages = max(1, -(-len(chosen) // PAGE))
    page = min(max(1, asked.page), pages)
    shown = tuple(chosen[(page - 1) * PAGE : page * PAGE])
    names = Counter(each.row.technician for each in mine if each.row.technician)
    return ListPage(
        rows=shown,
        total=len(chosen),
        page=page,
        pages=pages,
        counts={name: len(those) for name, those in by_filter.items()},
        overdue=frozenset(
            each.id for each in shown if each.id in due and each.row.due < today.isoformat()
        ),
        left_out=len(rows) - len(mine),
        technicians=tuple(sorted(name for name, _ in names.most_common(MOST_TECHNICIANS))),
    )


def waited(row: VisitRow, today: date) -> str:
    """The time that a visit has waited for the office since its end: '12 days', or ''."""
    ended = day_of(row.ended)
    if row.standing == "signed" or ended is None or ended > today:
        return ""
    days = (today - ended).days
    return {0: "since today", 1: "1 day"}.get(days, f"{days} days")


def _found(rows: Iterable[Listed], asked: ListQuery) -> list[Listed]:
    """The rows that pass every filter of a query."""
    if not (asked.q or asked.filtered):
        return list(rows)
    words, door = folded(asked.q).split(), folded(asked.door).split()
    technician = folded(asked.technician).split()
    found = []
    for each in rows:
        row, day = each.row, each.row.began[:10]
        if words and not all(word in row.words for word in words):
            continue
        if door and not all(word in folded(row.opening_key) for word in door):
            continue
        if technician and not all(word in folded(row.technician) for word in technician):
            continue
        if asked.verdict not in ("any", row.kind):
            continue
        if day < asked.since or (asked.until and not "" < day <= asked.until):
            continue
        found.append(each)
    return found


def _ordered(rows: Iterable[Listed], order: Order) -> list[Listed]:
    """Sorts rows: by default those that wait, oldest first, then the signed ones."""
    newest = sorted(rows, key=lambda each: (each.row.ended, each.id), reverse=True)
    if order == "newest":
        return newest
    if order == "door":
        return sorted(newest, key=lambda each: each.row.opening_key)
    waiting = [each for each in reversed(newest) if each.row.standing != "signed"]
    return waiting + [each for each in newest if each.row.standing == "signed"]


def _due(rows: Iterable[Listed], month: str) -> frozenset[str]:
    """The ids of visits whose next service is due by the end of the month ('2026-03')."""
    newest: dict[str, Listed] = {}
    for each in rows:
        key = each.row.opening_key
        if each.row.due and (key not in newest or newest[key].row.ended < each.row.ended):
            newest[key] = each
    return frozenset(each.id for each in newest.values() if each.row.due[:7] <= month)


def _one_of(words: object, given: str | None) -> Any:
    """The given word if it is in the list, otherwise the first of the list."""
    return given if given in get_args(words) else get_args(words)[0]


def _day(text: str) -> str:
    """A day as text that sorts; '' for anything else."""
    return text if len(text) == 10 and day_of(text) else ""
