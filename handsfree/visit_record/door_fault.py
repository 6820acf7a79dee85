"""The record of one fault of the door: how it was found, its cause, work, proof and end."""

from __future__ import annotations

from typing import Literal

from handsfree.job.fault_kinds import MISTAKEN
from handsfree.job.record import Count, Record
from handsfree.journal.plain_words import words_of


class DoorFault(Record):
    """A fault from its discovery to its end.

    ``key`` identifies it among the visit's open items: 'left leaf/arm_loose', 'left leaf/opening
    time', 'search/slams'. ``kind`` says how it was found: 'named' by the technician, 'observed' by
    a step's question, 'measured' by a reading, 'complaint' by its search. ``name`` is the fault,
    the fact, the rule, or the title of the complaint; ``words`` is the description given by voice.
    ``step`` is the key of the step at which it was found, ``clip`` the sound. ``answers`` holds the
    questions and answers of a search, ``outcome`` its end.

    ``work`` and ``part`` say what was done, ``tried`` lists earlier work without success.
    ``proved`` is the kind of proof ('observation', 'reading', 'looked' or 'search'), ``proof`` its
    name. ``left`` is the decision on a fault that stayed open, ``left_by`` the person who accepted
    it. ``readings`` holds the ids of the failing readings, ``quantity`` is their quantity. A fault
    is ``withdrawn`` if its reading was taken back or the office corrected it. ``seq``, ``at``,
    ``worked_at`` and ``proved_at`` belong to the events; they are 0 and '' in a conversation.
    """

    key: str
    kind: Literal["named", "observed", "measured", "complaint"]
    subject: str
    name: str
    step: str | None = None
    words: str | None = None
    clip: str | None = None
    answers: tuple[tuple[str, str], ...] = ()
    outcome: str | None = None
    cause: str | None = None
    work: str | None = None
    part: str | None = None
    tried: tuple[str, ...] = ()
    proved: str | None = None
    proof: str | None = None
    left: str | None = None
    left_by: str | None = None
    readings: tuple[str, ...] = ()
    quantity: str | None = None
    withdrawn: bool = False
    seq: Count = 0
    at: str = ""
    worked_at: str = ""
    proved_at: str = ""

    @property
    def open(self) -> bool:
        """True if its repair is not proved; a decision does not close it."""
        if self.withdrawn or self.work == MISTAKEN:
            return False
        return self.proved is None or self.work == "nothing"

    @property
    def unexplained(self) -> bool:
        """True if it is OK now, but nobody said what was done about it."""
        said = self.kind in ("measured", "complaint") or self.work is not None
        return self.proved is not None and not said and not self.withdrawn

    @property
    def what(self) -> str:
        """The fault in plain words: 'left leaf: arm loose'."""
        if self.kind == "complaint":
            return self.name
        return f"{self.subject}: {words_of(self.name)}"

    @property
    def steps(self) -> tuple[tuple[str, str], ...]:
        """Its history in plain words, as pairs: found, cause, done, proved or left, and the
        text.
        """
        found = {"named": "reported by the technician", "observed": "seen not OK"}
        how = found.get(self.kind, "out of limits" if self.kind == "measured" else "complaint")
        told = [("found", f"{how}{f', “{self.words}”' if self.words else ''}")]
        if self.cause:
            told.append(("cause", self.cause.rstrip(".")))
        elif self.outcome in ("not_found", "stopped"):
            told.append(("cause", f"search {words_of(self.outcome)}"))
        if self.withdrawn:
            return (*told, ("done", "withdrawn: its reading or observation was corrected"))
        if self.work == MISTAKEN:
            return (*told, ("done", "found by mistake"))
        if self.tried:
            told.append(("tried", ", ".join(map(words_of, self.tried))))
        told.append(("done", self._done))
        told.append(("proved", self._proof))
        if self.open:
            left = words_of(self.left) if self.left else "open, no decision"
            told.append(("left", left + (f" by {self.left_by}" if self.left_by else "")))
        return tuple(told)

    @property
    def line(self) -> str:
        """The fault in one line: 'left leaf: arm loose; found: ...; done: repaired' (printed)."""
        return "; ".join([self.what, *(f"{name}: {told}" for name, told in self.steps)]) + "."

    @property
    def _done(self) -> str:
        if self.work is None:
            return "measured again" if self._measured_again else "not recorded"
        part = f" ({words_of(self.part)})" if self.part else ""
        return f"{words_of(self.work)}{part}"

    @property
    def _measured_again(self) -> bool:
        return self.kind == "measured" and self.proved is not None

    @property
    def _proof(self) -> str:
        return {
            None: "not proved",
            "observation": f"seen OK: {words_of(self.proof or '')}",
            "reading": "measured again: passes",
            "looked": "checked again: gone",
            "search": "the door was tried again",
        }.get(self.proved, self.proved or "")
