"""Notes and reasons spoken in free words, for the office to write down."""

from __future__ import annotations

from typing import NamedTuple

from handsfree.visit_record.amendment import Amendment
from handsfree.visit_record.visit_record import VisitRecord


class SpokenWords(NamedTuple):
    """A note or a reason in free words: its present text, and how to hear it.

    ``typed_up`` is the second ear's transcript, '' without one.
    """

    seq: int
    name: str
    heard: str
    now: str
    clip: str | None
    typed_up: str
    amendments: tuple[Amendment, ...]
    anchor: str


def spoken_words(visit: VisitRecord, seq: int) -> SpokenWords | None:
    """The note or reason spoken in event ``seq``; None if the event has neither."""
    for note in visit.notes:
        if note.seq == seq:
            name, at = f"the note of line {seq}", f"note-{seq}"
            told = (note.clip, note.typed_up, note.amendments)
            return SpokenWords(seq, name, note.text, note.now, *told, at)
    for nth, item in enumerate(visit.open_items, start=1):
        if item.reason_seq == seq and item.reason is not None:
            heard = item.reason_amendments[0].old if item.reason_amendments else item.reason
            told = (item.reason_clip, item.reason_typed_up, item.reason_amendments)
            name = f"the reason for skipping {item.what}"
            return SpokenWords(seq, name, heard, item.reason, *told, f"matter-{nth}")
    return None
