"""The events of a controller's set-up: entries asked for, entries made, codes shown."""

from __future__ import annotations

from typing import Literal

from handsfree.journal.event_body import EventBody


class ControllerEvent(EventBody):
    """Base class of controller events."""


class EntryAsked(ControllerEvent):
    """An entry was asked for: ``entry`` is its id in the guide, 'learn' the learn cycle."""

    kind: Literal["entry_asked"] = "entry_asked"
    entry: str


class EntryEnded(ControllerEvent):
    """An entry is over: made, left out, or a learn cycle that failed.

    ``called`` is where it was made ('entry three') and ``name`` what was set, both as spoken;
    ``value`` is None for an entry without a value. ``shown`` is the controller's indication as said
    by the technician ('A1'), or None. Without a guide ``text`` has the technician's own words.
    ``clip`` is the sound of the answer.
    """

    kind: Literal["entry_ended"] = "entry_ended"
    entry: str
    outcome: Literal["made", "left", "failed"]
    name: str
    called: str | None = None
    value: str | None = None
    shown: str | None = None
    text: str | None = None
    clip: str | None = None


class EntriesReopened(ControllerEvent):
    """Entries have to be made again."""

    kind: Literal["entries_reopened"] = "entries_reopened"
    entries: tuple[str, ...]


class CodeShown(ControllerEvent):
    """The controller shows a code, read back and affirmed.

    ``means`` and ``remedy`` are the guide's words, None for a code that it does not list. ``entry``
    is the current entry, ``clip`` the sound of the code.
    """

    kind: Literal["code_shown"] = "code_shown"
    code: str
    means: str | None = None
    remedy: str | None = None
    entry: str | None = None
    clip: str | None = None


ControllerBody = EntryAsked | EntryEnded | EntriesReopened | CodeShown
