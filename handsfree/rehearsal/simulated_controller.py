"""A controller that behaves as described in its guide: entries, indications, saving, learn cycle.

It is built from the guide alone and knows the true door: a wrong entry becomes visible if the guide
has a code that leads back to it.
"""

from __future__ import annotations

from handsfree.controllers.guide import Guide, SetUpStep
from handsfree.controllers.worked_out import set_up_of
from handsfree.job.job import Job

BLOCKED, BROKE_OFF = "learn_stops_early", "learn_ends_in_error"
"""The searches behind the codes for a blocked leaf, and for an aborted learn cycle."""


class SimulatedController:
    """A new controller at a door, with nothing entered or saved."""

    def __init__(self, guide: Guide, door: Job) -> None:
        self.guide = guide
        self.entered: dict[str, str] = {}
        self.saved: dict[str, str] = {}
        self.learned = False
        worked = set_up_of(guide, door)
        self.right = {e.step.id: e.value.say for e in worked if e.value is not None}
        """The guide's value for each entry at this door."""

    @property
    def in_force(self) -> dict[str, str]:
        """The values in effect: those saved, and those that need no saving."""
        at_once = {e: v for e, v in self.entered.items() if self._step(e).saved_by is None}
        return {**self.saved, **at_once}

    @property
    def wrong(self) -> frozenset[str]:
        """The entries in effect that differ from the guide's, or are missing."""
        return frozenset(e for e, value in self.right.items() if self.in_force.get(e) != value)

    def enter(self, entry: str, value: str) -> str | None:
        """Sets an entry to a value; returns the indication after it."""
        step = self._step(entry)
        self.entered[entry] = value
        self.learned = False
        shown = next((each.mark for each in step.value if each.say == value), None)
        return shown or step.mark

    def do(self, entry: str) -> str | None:
        """Does a step without a value; a saving step saves everything that belongs to it."""
        saves = {step.id for step in self.guide.set_up if step.saved_by == entry}
        self.saved |= {e: value for e, value in self.entered.items() if e in saves}
        return self._step(entry).mark

    def learn(self, *, blocked: bool = False, breaks_off: bool = False) -> str | None:
        """Runs the learn cycle; returns the indication at its end."""
        self.learned = False
        saves = {step.saved_by for step in self.guide.set_up} - {None}
        unsaved = {e for e in self.entered if self.entered[e] != self.in_force.get(e)}
        for code in self.guide.codes:
            if code.comes_up != "learn":
                continue
            wrong = code.entry in self.wrong and not unsaved
            not_saved = code.entry in saves and bool(unsaved)
            meets = blocked and code.search == BLOCKED
            breaks = breaks_off and not blocked and code.search == BROKE_OFF
            if (wrong or not_saved) or (not self.wrong and not unsaved and (meets or breaks)):
                return code.mark
        self.learned = not unsaved
        return self.guide.learn.success.mark

    def _step(self, entry: str) -> SetUpStep:
        step = self.guide.step(entry)
        assert step is not None  # the entries of the guide
        return step
