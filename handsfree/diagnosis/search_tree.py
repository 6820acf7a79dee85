"""The records of a search tree: checks, and the causes to which their answers lead."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from handsfree.job.job import Job
from handsfree.job.record import Record
from handsfree.procedure.condition import holds

Effort = Literal["look", "press", "meter", "tools"]
"""Effort of a check: by eye, by a hand on the door or plate, with a meter, or with tools or
settings.
"""

EFFORT_ORDER: tuple[Effort, ...] = ("look", "press", "tools", "meter")
"""The kinds of check, from the cheapest and safest to the most expensive."""

Work = Literal["adjusted", "cleared", "left", "repaired", "replaced", "set", "switched"]
"""Kind of work of a remedy; 'left' means that somebody else has to decide or act."""

YES_NO = ("yes", "no")


class Check(Record):
    """One question about what can be seen, heard or felt.

    ``on`` maps each answer to the id of the check or cause that it leads to. The answers are 'yes'
    and 'no', or the keys of ``answers``; their values are the spoken forms. ``sees`` names what is
    observed; the same name means the same observation in every tree. If the conditions of
    ``applies`` do not hold for the opening, the search continues at ``otherwise``. A check with a
    ``caution`` waits for its ``word`` first. ``why`` answers 'why'.
    """

    id: str
    sees: str
    effort: Effort
    ask: str
    on: dict[str, str]
    answers: dict[str, str] = Field(default_factory=dict)
    applies: tuple[str, ...] = ()
    otherwise: str | None = None
    caution: str | None = None
    word: str | None = None
    why: str = ""

    @property
    def choices(self) -> tuple[str, ...]:
        """The answers that the check takes."""
        return tuple(self.answers) or YES_NO

    @property
    def targets(self) -> tuple[str, ...]:
        """The ids that the check can lead to, without repetitions, in the order of the file."""
        rest = (self.otherwise,) if self.otherwise else ()
        return tuple(dict.fromkeys((*self.on.values(), *rest)))


class Cause(Record):
    """A cause, its remedy, and the question that proves the cure (answered yes or no).

    With ``learn`` the remedy ends with the learn cycle, run once the path is clear.
    """

    id: str
    found: str
    remedy: str
    work: Work
    prove: str
    learn: bool = False


class SearchTree(Record):
    """A tree for one complaint.

    ``name`` is the name of its file, ``complaint`` how a technician says it. The search begins
    at the check ``first``. ``sha256`` is the hash of the file.
    """

    name: str
    language: str
    title: str
    complaint: str
    first: str
    checks: tuple[Check, ...]
    causes: tuple[Cause, ...]
    sha256: str

    def node(self, node_id: str) -> Check | Cause:
        """The check or cause of that id. Raises KeyError for an unknown id."""
        nodes: tuple[Check | Cause, ...] = (*self.checks, *self.causes)
        for node in nodes:
            if node.id == node_id:
                return node
        raise KeyError(node_id)

    def applicable(self, node_id: str, job: Job) -> Check | Cause:
        """The node, or its substitute for an opening where it does not apply."""
        node = self.node(node_id)
        while isinstance(node, Check) and not all(holds(each, job) for each in node.applies):
            assert node.otherwise is not None  # the loader guarantees it
            node = self.node(node.otherwise)
        return node
