"""Queries of the ledger: services due, an opening's history, failures, a word search.

Rehearsals are left out unless they are asked for, and never count as due.
"""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from sqlalchemy import Column, ColumnElement, Select, select
from sqlalchemy.engine import RowMapping

from handsfree.errors import LedgerError
from handsfree.job.record import Record
from handsfree.ledger import tables as t
from handsfree.ledger.database import Ledger
from handsfree.ledger.visit_rows import folded

MOST = 200
"""Default limit on the rows of an answer."""
_NAMED, _LOOKED_AT = 8, 1000


class Due(Record):
    """An opening whose next service is due on ``due``; ``overdue`` if that day is past."""

    due: str
    overdue: bool
    site: str
    opening: str
    last_visit: str
    reference: str
    technician: str


class Failing(Record):
    """Something that fails or is too close to call after the latest visit to an opening."""

    site: str
    opening: str
    visited: str
    reference: str
    kind: str
    what: str
    decision: str | None
    folder: str


class Past(Record):
    """One reading in the history of an opening. ``value`` is as spoken, after corrections.

    ``gone`` is true if it was withdrawn or struck; ``verdict`` is the one given at the time.
    """

    site: str
    opening: str
    visited: str
    reference: str
    technician: str
    subject: str
    quantity: str
    value: str
    unit: str
    place: str | None
    attempt: int
    run: int
    verdict: str | None
    gone: str | None
    accepted: str


class Found(Record):
    """A visit that contains every word of a search."""

    site: str
    opening: str
    visited: str
    reference: str
    technician: str
    verdict: str
    signed: bool
    folder: str


def due(ledger: Ledger, today: date, within_days: int, most: int = MOST) -> list[Due]:
    """The openings whose next service is due within these days, the longest overdue first."""
    try:
        until = (today + timedelta(days=within_days)).isoformat()
    except OverflowError:
        until = date.max.isoformat()
    o, v = t.openings.c, t.visits.c
    asked = (
        select(o.due, o.site, o.name.label("opening"))
        .add_columns(v.ended.label("last_visit"), v.reference, v.technician)
        .join_from(t.openings, t.visits, v.id == o.last_visit)
        .where(o.due <= until)
        .order_by(o.due, o.id)
        .limit(most)
    )
    rows = _rows(ledger, asked)
    return [Due(overdue=row["due"] < today.isoformat(), **row) for row in rows]


_FORMER_KINDS = {"not in order": "not OK"}
"""Kinds of open items as older versions wrote them into a ledger, and as they are called now."""


def failing(ledger: Ledger, most: int = MOST, *, rehearsals: bool = False) -> list[Failing]:
    """Items that the latest visit to each opening left failing or too close to call, newest first.

    After a daily walk, items left by the latest service are listed too.
    """
    o, v, i = t.openings.c, t.visits.c, t.open_items.c
    asked = (
        select(o.site, o.name.label("opening"), v.ended.label("visited"), v.reference)
        .add_columns(i.kind, i.what, i.decision, t.journals.c.folder)
        .join_from(t.visits, t.openings, o.id == v.opening_id)
        .join(t.open_items, i.visit_id == v.id)
        .join(t.journals, t.journals.c.visit_id == v.id)
        .where(v.newest, v.failing, i.kind.in_(("not OK", "too close", *_FORMER_KINDS)))
        .where(*_real(v.rehearsal, rehearsals))
        .order_by(v.ended.desc(), v.id, i.nth)
        .limit(most)
    )
    rows = _rows(ledger, asked)
    return [
        Failing(**dict(row) | {"kind": _FORMER_KINDS.get(row["kind"], row["kind"])}) for row in rows
    ]


def history(
    ledger: Ledger,
    words: str,
    quantity: str | None = None,
    most: int = MOST,
    *,
    rehearsals: bool = False,
) -> list[Past]:
    """The readings of one opening over its visits, newest visit first, in the order of filing.

    ``words`` are words of its site and name, enough to identify it. Raises LedgerError if they fit
    no opening or several.
    """
    key, site, opening = _opening(ledger, words, rehearsals)
    v, r = t.visits.c, t.readings.c
    asked = (
        select(v.ended.label("visited"), v.reference, v.technician)
        .add_columns(r.subject, r.quantity, r.value, r.unit, r.place, r.attempt, r.run)
        .add_columns(r.verdict, r.gone, r.accepted)
        .join_from(t.visits, t.readings, r.visit_id == v.id)
        .where(v.opening_id == key)
        .order_by(v.ended.desc(), v.id, r.nth)
        .limit(most)
    )
    if quantity is not None:
        asked = asked.where(r.quantity == quantity)
    return [Past(site=site, opening=opening, **row) for row in _rows(ledger, asked)]


def search(
    ledger: Ledger, words: str, most: int = MOST, *, rehearsals: bool = False
) -> list[Found]:
    """The visits with all of these words in site, opening, reference, technician or notes.

    Newest first. Case does not matter, and parts of words are enough.
    """
    o, v = t.openings.c, t.visits.c
    # Text with nothing appended is in no index: scanning all texts in storage order takes a fifth
    # of the time of index order.
    with_words = (
        select(v.id)
        .where(*(v.words.contains(word, autoescape=True) for word in _words(words)))
        .where(*_real(v.rehearsal, rehearsals))
        .order_by((v.ended + "").desc(), v.id)
        .limit(most)
        .subquery()
    )
    asked = (
        select(o.site, o.name.label("opening"), v.ended.label("visited"), v.reference)
        .add_columns(v.technician, v.verdict, v.signed, t.journals.c.folder)
        .join_from(with_words, t.visits, v.id == with_words.c.id)
        .join(t.openings, o.id == v.opening_id)
        .join(t.journals, t.journals.c.visit_id == v.id)
        .order_by(v.ended.desc(), v.id)
    )
    return [Found(**row) for row in _rows(ledger, asked)]


def last_folder(ledger: Ledger, words: str) -> str:
    """The folder of the last service of an opening, otherwise of its last visit.

    ``words`` are of its site and name, as in ``history``. Raises LedgerError likewise.
    """
    key, _, _ = _opening(ledger, words, False)
    v = t.visits.c
    asked = (
        select(t.journals.c.folder)
        .join_from(t.visits, t.journals, t.journals.c.visit_id == v.id)
        .where(v.opening_id == key, *_real(v.rehearsal, False))
        .order_by(v.complete.desc(), v.due.is_(None), v.ended.desc(), v.id)
        .limit(1)
    )
    return str(_rows(ledger, asked)[0]["folder"])


def _real(rehearsal: Column[bool], asked: bool) -> tuple[ColumnElement[bool], ...]:
    """The condition that leaves rehearsals out unless they are ``asked`` for."""
    return () if asked else (rehearsal.is_(False),)


def _opening(ledger: Ledger, words: str, rehearsals: bool) -> tuple[str, str, str]:
    """The one opening identified by the words: key, site and name."""
    o = t.openings.c
    asked = (
        select(o.id, o.site, o.name, o.folded)
        .where(*(o.folded.contains(word, autoescape=True) for word in _words(words)))
        .where(*_real(o.rehearsal, rehearsals))
        .order_by(o.site, o.name)
        .limit(_LOOKED_AT)
    )
    found = _rows(ledger, asked)
    if not found:
        raise LedgerError(
            f"the ledger knows no opening '{words}'",
            way_out="'handsfree ledger search WORDS' looks in technicians and notes too",
        )
    # 'door 1' means 'door 1' even if there is a 'door 12'.
    whole = [each for each in found if folded(words).split() == folded(each["name"]).split()]
    whole = whole or [e for e in found if set(_words(words)) <= set(e["folded"].split())]
    if len(found) > 1 and len(whole) != 1:
        names = "; ".join(f"{each['name']}, {each['site']}" for each in found[:_NAMED])
        more = " and more" if len(found) > _NAMED else ""
        raise LedgerError(
            f"'{words}' can be several openings: {names}{more}", way_out="give more of its words"
        )
    one = (whole or found)[0]
    return one["id"], one["site"], one["name"]


def _words(text: str) -> list[str]:
    words = folded(text).split()
    if not words:
        raise LedgerError("nothing to search for", way_out="give a word or a part of one")
    return words


def _rows(ledger: Ledger, asked: Select[Any]) -> list[RowMapping]:
    with ledger.reading() as connection:
        return list(connection.execute(asked).mappings().all())
