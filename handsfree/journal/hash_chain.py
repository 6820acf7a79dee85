"""Verifies a journal's hash chain, and finds where it is broken and what that means."""

from __future__ import annotations

import json

from pydantic import ValidationError

from handsfree.job.record import Record
from handsfree.journal.canonical_json import NO_HASH, parse_line, sha256_of
from handsfree.journal.events import Event
from handsfree.journal.head_file import Head

CRASH = "the program was stopped while writing this line; everything before it is intact"
EDITED = "it was changed after it was written, or the disk damaged it"
REMOVED = "lines were removed after they were written"
NEWER = (
    "a newer handsfree wrote it: its chain is intact, and nothing shows that it was changed; "
    "update handsfree to read it"
)
UNKNOWN = (
    "its chain is intact: a newer handsfree wrote it, or it was changed together with every "
    "hash after it"
)
_NEWER_ERRORS = ("union_tag_invalid", "extra_forbidden")
_LONGEST = 200


class Break(Record):
    """The line (from 1) where a journal is broken, the reason, and its meaning."""

    line: int
    reason: str
    meaning: str

    @property
    def what(self) -> str:
        """The reason, and who wrote a line that is not a fault."""
        return f"{self.reason}; a newer handsfree wrote it" if self._newer else self.reason

    @property
    def told(self) -> str:
        """A sentence about the journal, without its subject."""
        if self._newer:
            return f"was written by a newer handsfree, from line {self.line} on: {self.reason}"
        return f"is broken at line {self.line}: {self.reason}"

    @property
    def _newer(self) -> bool:
        return self.meaning == NEWER


class Scan(Record):
    """Contents of a journal's bytes.

    ``events`` are those before the break; ``torn`` is the rest after the last newline; ``broken``
    is any other break. ``head`` is the last complete line.
    """

    events: tuple[Event, ...]
    torn: bytes
    broken: Break | None
    head: Head


def scan(content: bytes, head: Head | None) -> Scan:
    """Checks the chain from the first line to ``head``, which is stored next to it."""
    *lines, torn = content.split(b"\n")
    hashes = [NO_HASH, *(sha256_of(line) for line in lines)]
    events: list[Event] = []
    broken: Break | None = None
    for number, line in enumerate(lines, start=1):
        event = _event(line, number)
        if isinstance(event, Break):
            broken = event
            break
        events.append(event)
    if broken is not None and broken.meaning in (NEWER, UNKNOWN):
        if _chain_is_whole(lines, hashes, head):
            return Scan(
                events=tuple(events),
                torn=torn,
                broken=broken,
                head=Head(seq=len(lines), sha256=hashes[-1]),
            )
        broken = broken.model_copy(update={"meaning": EDITED})
    broken = _link_break(events, hashes, head) or broken
    if broken is None:
        broken = _head_break(events, hashes, head, torn=bool(torn))
    if broken is not None:
        events = events[: broken.line - 1]
    last = Head(seq=len(lines), sha256=hashes[-1])
    return Scan(events=tuple(events), torn=torn, broken=broken, head=last)


def _event(line: bytes, number: int) -> Event | Break:
    """Parses the event of a line and checks its number."""
    try:
        event = parse_line(line)
    except ValidationError as error:
        kinds = {each["type"] for each in error.errors(include_url=False, include_input=False)}
        meaning = NEWER if kinds <= set(_NEWER_ERRORS) else UNKNOWN
        return Break(line=number, reason=_reason(error), meaning=meaning)
    except UnicodeDecodeError:
        return Break(line=number, reason="the line is not UTF-8 text", meaning=EDITED)
    except json.JSONDecodeError:
        return Break(line=number, reason="the line is not JSON", meaning=EDITED)
    except RecursionError:
        return Break(line=number, reason="the line is nested beyond reason", meaning=EDITED)
    except ValueError:  # a number with too many digits
        return Break(line=number, reason="a number here is beyond reason", meaning=EDITED)
    if event.seq != number:
        return Break(
            line=number,
            reason=f"the line is numbered {event.seq}, not {number}",
            meaning="lines were removed, added or moved",
        )
    return event


def _reason(error: ValidationError) -> str:
    first = error.errors(include_url=False)[0]
    where = ".".join(str(part) for part in first["loc"]) or "the line"
    if first["type"] == "union_tag_invalid":
        what = "event" if first["loc"] == ("body",) else "meaning"
        return printable(f"unknown kind of {what} '{first['ctx']['tag']}'")
    if first["type"] == "extra_forbidden":
        return printable(f"unknown field {where}")
    message = first["msg"].removeprefix("Value error, ")
    return printable(f"{where}: {message[:1].lower()}{message[1:]}")


def printable(text: str) -> str:
    """Makes arbitrary text from a file safe to print on one line."""
    shown = "".join(c if c.isprintable() else f"\\u{ord(c):04x}" for c in text)
    return shown if len(shown) <= _LONGEST else f"{shown[:_LONGEST]} ..."


def _chain_is_whole(lines: list[bytes], hashes: list[str], head: Head | None) -> bool:
    """True if every line has the hash of the previous one and the head that of the last, whatever
    they contain.
    """
    if head is None or (head.seq, head.sha256) != (len(lines), hashes[-1]):
        return False
    try:
        return all(
            json.loads(line)["prev"] == before for line, before in zip(lines, hashes, strict=False)
        )
    except (ValueError, TypeError, KeyError, RecursionError):
        return False


def _link_break(events: list[Event], hashes: list[str], head: Head | None) -> Break | None:
    """Finds the first line that does not match its neighbor.

    Line n holds the hash of line n-1. If they differ, one of the two was changed: the earlier one
    if the following lines confirm the later one.
    """
    vouched = {event.prev for event in events} | {head.sha256 if head else NO_HASH}
    for event in events:
        if event.prev != hashes[event.seq - 1]:
            earlier = event.seq > 1 and hashes[event.seq] in vouched
            if earlier:
                reason = f"line {event.seq} was written after different bytes than these"
                return Break(line=event.seq - 1, reason=reason, meaning=EDITED)
            reason = "the line does not name the hash of the line before it"
            return Break(line=event.seq, reason=reason, meaning=EDITED)
    return None


def _head_break(
    events: list[Event], hashes: list[str], head: Head | None, *, torn: bool
) -> Break | None:
    """Finds a mismatch with the head.

    Lines of one write, which share a time, may be ahead of the head: a crash came between the two
    writes.
    """
    last = len(hashes) - 1
    if head is None:
        return Break(
            line=max(last, 1),
            reason="journal.head is missing or unreadable",
            meaning="nothing shows that this is the last line and that it is unchanged",
        )
    if head.seq > last + torn:
        reason = f"journal.head records {head.seq} lines, but only {last} are here"
        return Break(line=last + 1, reason=reason, meaning=REMOVED)
    if len({event.at for event in events[head.seq :]}) > 1:
        reason = f"journal.head records {head.seq} lines, but {last} are here"
        return Break(line=head.seq + 1, reason=reason, meaning="lines were added from outside")
    if head.seq <= last and head.sha256 != hashes[head.seq]:
        reason = "the line is not the one that journal.head names"
        return Break(line=max(head.seq, 1), reason=reason, meaning=EDITED)
    return None
