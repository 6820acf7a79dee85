"""The ledger's tables. Indexed columns are short because a journal's names can be long."""

from __future__ import annotations

from sqlalchemy import (
    Boolean,
    Column,
    Double,
    ForeignKey,
    Index,
    Integer,
    MetaData,
    String,
    Table,
    Text,
)

SCHEMA = "2"
"""Version of the tables; an older ledger is rebuilt from its journals."""

metadata = MetaData()

about = Table(
    "handsfree_ledger",
    metadata,
    Column("name", String(32), primary_key=True),
    Column("value", String(64), nullable=False),
)

openings = Table(
    "openings",
    metadata,
    Column("id", String(24), primary_key=True),  # a hash of site and name, and of 'rehearsal'
    Column("site", Text, nullable=False),
    Column("name", Text, nullable=False),
    Column("folded", Text, nullable=False),  # site and name, to be searched
    Column("last_visit", String(64)),  # the last complete one
    Column("rehearsal", Boolean, nullable=False),  # a simulated door
    Column("due", String(10)),  # 'YYYY-MM-DD'; null before the first complete visit
    Index("openings_due", "due"),
)

visits = Table(
    "visits",
    metadata,
    Column("id", String(64), primary_key=True),  # the hash of the journal's first line
    Column("opening_id", ForeignKey("openings.id"), nullable=False),
    Column("reference", Text, nullable=False),
    Column("technician", Text, nullable=False),
    Column("procedure", Text, nullable=False),
    Column("limits", Text, nullable=False),
    Column("began", String(24), nullable=False),
    Column("ended", String(24), nullable=False),
    Column("complete", Boolean, nullable=False),
    Column("verdict", Text, nullable=False),
    Column("wrong", Integer, nullable=False),  # number of items not OK
    Column("close", Integer, nullable=False),  # number of items too close to call
    Column("failing", Boolean, nullable=False),  # true if there is either
    Column("newest", Boolean, nullable=False),  # the last visit, or the last service
    Column("signed", Boolean, nullable=False),
    Column("due", String(10)),
    Column("rehearsal", Boolean, nullable=False),  # at a simulated door
    Column("words", Text, nullable=False),  # all text that a search covers, case folded
    Index("visits_opening", "opening_id", "ended"),
    Index("visits_ended", "ended"),
    Index("visits_failing", "newest", "failing", "ended"),
)


def _visit_id() -> Column[str]:
    return Column("visit_id", ForeignKey("visits.id", ondelete="CASCADE"), primary_key=True)


def _nth() -> Column[int]:
    """The position among the rows of a visit, from 1."""
    return Column("nth", Integer, primary_key=True, autoincrement=False)


journals = Table(
    "journals",
    metadata,
    _visit_id(),
    Column("head", String(64), nullable=False),
    Column("lines", Integer, nullable=False),
    Column("folder", Text, nullable=False),
)

readings = Table(
    "readings",
    metadata,
    _visit_id(),
    _nth(),
    Column("reading_id", Text, nullable=False),
    Column("subject", String(24), nullable=False),
    Column("quantity", String(32), nullable=False),
    Column("value", Text, nullable=False),  # as spoken: '6.20' stays '6.20'
    Column("unit", String(8), nullable=False),
    Column("base", Double, nullable=False),  # in s, m, kg, N, J, deg, 1, month
    Column("taken", String(16), nullable=False),
    Column("attempt", Integer, nullable=False),
    Column("run", Integer, nullable=False),
    Column("place", String(24)),  # null for one that was withdrawn or struck
    Column("gone", String(12)),
    Column("accepted", Text, nullable=False),  # as the technician affirmed it, with its unit
    Column("verdict", String(20)),
)

findings = Table(
    "findings",
    metadata,
    _visit_id(),
    _nth(),
    Column("reading", Integer),  # nth of the reading
    Column("subject", String(24), nullable=False),
    Column("quantity", String(32)),
    Column("rule", Text, nullable=False),
    Column("verdict", String(20), nullable=False),
    Column("binding", String(16), nullable=False),
    Column("value", Text),
    Column("bound", Text),
    Column("limit", Text),
    Column("unit", Text, nullable=False),
    Column("source", Text, nullable=False),
)

facts = Table(
    "facts",
    metadata,
    _visit_id(),
    _nth(),
    Column("subject", String(24), nullable=False),
    Column("name", Text, nullable=False),
    Column("value", Text, nullable=False),
)

open_items = Table(
    "open_items",
    metadata,
    _visit_id(),
    _nth(),
    Column("key", Text, nullable=False),
    Column("kind", String(16), nullable=False),
    Column("what", Text, nullable=False),
    Column("word", Text),
    Column("decision", String(20)),
)

amendments = Table(
    "amendments",
    metadata,
    _visit_id(),
    _nth(),
    Column("at", String(24), nullable=False),
    Column("by", Text, nullable=False),
    Column("kind", String(32), nullable=False),
    Column("what", Text, nullable=False),
    Column("why", Text, nullable=False),
)

sign_offs = Table(
    "sign_offs",
    metadata,
    _visit_id(),
    _nth(),
    Column("at", String(24), nullable=False),
    Column("by", Text, nullable=False),
    Column("head", Text, nullable=False),
    Column("valid", Boolean, nullable=False),
)

PARTS = (journals, readings, findings, facts, open_items, amendments, sign_offs)
"""The tables for the parts of a visit."""
