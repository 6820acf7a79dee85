"""The events of a search for a cause; every text is kept as it was spoken."""

from __future__ import annotations

from typing import Literal

from handsfree.journal.event_body import EventBody


class SearchStarted(EventBody):
    """A search for a cause began; ``sha256`` is the hash of the tree's file."""

    kind: Literal["search_started"] = "search_started"
    tree: str
    sha256: str
    title: str


class SearchAnswered(EventBody):
    """An answer in a search: to a check, a remedy or a proof; ``at`` is the node's id."""

    kind: Literal["search_answered"] = "search_answered"
    at: str
    asked: str
    answer: str


class SearchEnded(EventBody):
    """A search ended. ``cause`` and ``found`` are None when no cause was named.

    ``work`` says what the remedy does: adjusted, repaired, replaced and so on. ``stopped`` is true
    if the search was abandoned.
    """

    kind: Literal["search_ended"] = "search_ended"
    tree: str
    title: str
    outcome: Literal["cured", "not_cured", "left", "not_found", "stopped"]
    cause: str | None = None
    found: str | None = None
    work: str | None = None


SearchBody = SearchStarted | SearchAnswered | SearchEnded
