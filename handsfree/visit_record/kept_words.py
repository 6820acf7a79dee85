"""Tells how words outside the grammar were kept."""

from __future__ import annotations

from typing import Literal

from handsfree.journal import events as ev
from handsfree.journal.controller_events import EntryEnded
from handsfree.journal.paper_events import VisitFactKept

KeptAs = Literal["note", "reason", "name", "fact", "entry"]


def kept_as(body: ev.Body) -> KeptAs | None:
    """Returns how words before an event were kept; None if it keeps none."""
    match body:
        case ev.NoteKept():
            return "note"
        case ev.StepEnded(outcome="skipped", reason=str()):
            return "reason"
        case ev.OpenSettled(by=str()):
            return "name"
        case VisitFactKept():
            return "fact"
        case EntryEnded(text=str()):
            return "entry"
        case _:
            return None
