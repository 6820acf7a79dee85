"""The set-up of a controller in a visit: the final entries, and every code that came up."""

from __future__ import annotations

from pydantic import Field

from handsfree.job.record import Record
from handsfree.journal import controller_events as controller
from handsfree.journal.event_body import EventBody

AS_FOUND, OWN = "found-", "own-"
"""Prefixes of the ids of entries without a guide: for the old controller, and for the new one."""


class SetUpRow(Record):
    """The last result of an entry; ``outcome`` is 'made', 'left' or 'failed'.

    ``called`` is its place, ``name`` what was set; ``clip`` is the sound of the answer.
    """

    entry: str
    outcome: str
    name: str
    called: str | None
    value: str | None
    shown: str | None
    clip: str | None


class ShownCode(Record):
    """A code that came up, and its meaning; None if the guide does not list it."""

    code: str
    means: str | None
    entry: str | None
    clip: str | None


class ControllerSetUp(Record):
    """The entries and codes so far.

    ``at`` is the current entry. ``entries`` holds the last result of each entry by its id, in the
    order in which they were first made; ``codes`` holds every code, oldest first.
    """

    at: str | None = None
    entries: dict[str, controller.EntryEnded] = Field(default_factory=dict)
    codes: tuple[controller.CodeShown, ...] = ()
    again: frozenset[str] = frozenset()

    @property
    def over(self) -> frozenset[str]:
        """The entries that were made or left out, unless they have to be repeated."""
        ended = {entry for entry, how in self.entries.items() if how.outcome != "failed"}
        return frozenset(ended - self.again)

    @property
    def made(self) -> frozenset[str]:
        """The entries that were made and still count."""
        return frozenset(e for e in self.over if self.entries[e].outcome == "made")

    @property
    def rows(self) -> tuple[SetUpRow, ...]:
        """The last result of every entry, for the record of the door."""
        return tuple(
            SetUpRow.model_validate(how.model_dump(exclude={"kind", "text"}))
            for how in self.entries.values()
        )

    @property
    def shown_codes(self) -> tuple[ShownCode, ...]:
        """Every code with its meaning, oldest first."""
        return tuple(
            ShownCode.model_validate(code.model_dump(exclude={"kind", "remedy"}))
            for code in self.codes
        )

    @property
    def left(self) -> tuple[controller.EntryEnded, ...]:
        """The entries that were left out."""
        return tuple(how for how in self.entries.values() if how.outcome == "left")

    def after(self, body: EventBody) -> ControllerSetUp:
        """The set-up after one more event."""
        match body:
            case controller.EntryAsked(entry=entry):
                return self.model_copy(update={"at": entry, "again": self.again | {entry}})
            case controller.EntryEnded(entry=entry):
                entries = {**self.entries, entry: body}
                again = self.again - {entry}
                return self.model_copy(update={"entries": entries, "again": again})
            case controller.EntriesReopened(entries=entries):
                return self.model_copy(update={"again": self.again | frozenset(entries)})
            case controller.CodeShown():
                return self.model_copy(update={"codes": (*self.codes, body)})
            case _:
                return self


def set_up_line(ended: controller.EntryEnded | SetUpRow) -> str:
    """An entry in one line: 'entry three, hand of motor one: one (shows A1)'."""
    where = ", ".join(part for part in (ended.called, ended.name) if part)
    value = f": {ended.value}" if ended.value else ""
    seen = f" (shows {ended.shown})" if ended.shown else ""
    how = {"made": "", "left": ", left out", "failed": ", failed"}[ended.outcome]
    return f"{where}{value}{seen}{how}"


def code_line(code: controller.CodeShown | ShownCode) -> str:
    """A code in one line ('N1: Motor one turned against its leaf.')."""
    return f"{code.code}: {code.means or 'not in the guide'}"
