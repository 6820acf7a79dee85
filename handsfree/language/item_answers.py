"""Observations that name the inspected item: 'hinges tight, glass okay, arm loose'."""

from __future__ import annotations

from typing import Literal, get_args

from pydantic import Field

from handsfree.job.job import Fact
from handsfree.job.reading import Subject
from handsfree.job.record import Record

ITEM_FACTS = frozenset(
    {
        *("swings_freely", "arm", "hinge_condition", "leaf_condition", "guards"),
        *("operator_fixings", "cables", "floor", "signs", "sensors_clean", "rails", "plate"),
        "strike_releases",
    }
)
"""The facts that can be answered by name; they belong to grouped steps."""


State = Literal["broken", "loose", "missing", "worn", "cracked", "bent", "dead"]
STATES: tuple[State, ...] = get_args(State)
"""The ways in which a thing that is looked at can be broken."""


class ItemSaid(Record):
    """One named observation: the fact, its value, and its place if that was said.

    ``state`` says how the item is broken, if that was said.
    """

    name: str
    value: Literal["in_order", "not_in_order"]
    subject: Subject | None = None
    state: State | None = Field(default=None, exclude_if=lambda state: state is None)

    def is_about(self, fact: Fact) -> bool:
        """True if it names the fact, at that subject or without one."""
        return self.name == fact.name and self.subject in (None, fact.subject)


class ItemsSaid(Record):
    """One or more named observations from one utterance, in order."""

    kind: Literal["items"] = "items"
    items: tuple[ItemSaid, ...]
