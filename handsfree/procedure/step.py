"""Records of a procedure: stages, steps, options and tasks."""

from __future__ import annotations

from typing import Literal, get_args

from pydantic import Field

from handsfree.job.quantity import Quantity
from handsfree.job.reading import Subject
from handsfree.job.record import Record
from handsfree.procedure.controller import Controller

ForEach = Literal["opening", "leaf", "motor", "plate", "side"]
Danger = Literal["learn_cycle", "settings_lock", "people", "hand_over", "power_on"]
"""Dangers of a step: it runs the learn cycle, locks the settings (and keeps a faulty door as it
is), has people in the path of a leaf, returns the door to use, or switches the power on.
"""
DANGERS: tuple[Danger, ...] = get_args(Danger)

HOLD = "hold"
"""The target of an answer after which the visit waits for a decision."""
OK, NOT_OK, CURED, SKIPPED = "ok", "not_ok", "cured", "skipped"
DONE = "done"
OwnWord = Literal["locked_out", "proved_dead"]
"""Words that end one kind of step and are said nowhere else."""
PASSES, FAILS = "passes", "fails"
BAD_ANSWERS = (NOT_OK, FAILS)
"""Answers that leave something open that needs a decision."""


class Option(Record):
    """One answer that a choice step accepts.

    ``say`` is the tool's name for it; ``value`` is the grammar's choice value.
    """

    value: str
    say: str


class Step(Record):
    """One step as written in the procedure file.

    ``applies`` lists conditions that must all hold; 'not X' negates one. ``for_each`` repeats the
    step for every leaf, motor, plate or side. ``prompt``, ``brief`` and ``adjust`` may contain
    ``{subject}``, and ``{setting}`` until the procedure is loaded. ``waits`` says what ends the
    step: 'done' (done or affirm), 'caution' (its own ``word``), 'choice' (one of ``options``, filed
    as fact ``fact``), 'observation' (yes or no, filed as fact ``fact``), or 'reading' (a value of
    ``quantity``). ``called`` is the name of the fact in a readback. ``attempts`` is the number of
    failing readings after which the tool says how to leave it as it is; ``adjust`` says what to
    adjust, and ``setting`` is the controller's setting for it. ``search`` names the search tree
    that is offered after the answer 'not OK', or the fact of the choice that was answered with it.
    ``names_found`` says before the prompt what the visit found not OK so far. ``visit_facts`` lists
    the facts of visit_facts.toml that the prompt names until they are stated; the step waits for
    none of them. ``required`` is true for a choice that has to be known before the hand-over.
    ``guide`` hands the step over to the controller's guide, if there is one: its set-up, or its
    learn cycle; 'as_found' takes the settings of the old controller in the technician's words.
    ``why`` answers 'why'. A step that waits for 'done' and has an ``own_word`` is ended by
    that word alone; its bad case is taken too and does not end it.

    Steps with the same ``group`` are asked as one question while all of them are open: those that
    wait for 'done' or an observation are listed by their ``item`` ('arm straight and tight'), and
    one answer ends them all; a choice or a reading is grouped if its value is known.

    A step with a ``branch`` is walked only when an answer leads to that branch. ``on`` maps answers
    (``answers``) to where they lead: a branch, the id of a step, or 'hold'. The answers of one task
    may do this ``at_most`` times, after that they lead to ``then``. ``needs`` lists the steps that
    have to be OK before this one may be entered; ``danger`` is its action that can hurt someone.
    """

    id: str
    stage: str
    applies: tuple[str, ...] = ()
    for_each: ForEach = "opening"
    prompt: str
    brief: str
    waits: Literal["done", "caution", "choice", "observation", "reading"]
    caution: str | None = None
    word: str | None = None
    own_word: OwnWord | None = None
    fact: str | None = None
    called: str | None = None
    options: tuple[Option, ...] = ()
    quantity: Quantity | None = None
    setting: Quantity | None = None
    attempts: int = 1
    adjust: str | None = None
    search: str | None = None
    guide: Literal["as_found", "set_up", "learn"] | None = None
    may_skip: bool = True
    names_found: bool = False
    visit_facts: tuple[str, ...] = ()
    group: str | None = None
    item: str | None = None
    required: bool = False
    why: str = ""
    branch: str | None = None
    on: dict[str, str] = Field(default_factory=dict)
    at_most: int | None = None
    then: str | None = None
    needs: tuple[str, ...] = ()
    danger: Danger | None = None

    @property
    def is_pass_or_fail(self) -> bool:
        """True for a life-critical observation, answered by pass or fail instead of yes or no."""
        dangers = ("learn_cycle", "people")
        return self.waits == "observation" and (self.stage == "fire" or self.danger in dangers)

    @property
    def answers(self) -> tuple[str, ...]:
        """The answers that can have a target, with 'cured' and 'skipped' last."""
        found: tuple[str, ...]
        match self.waits:
            case "observation":
                found = (OK, NOT_OK)
            case "reading":
                found = (PASSES, FAILS)
            case "choice":
                found = tuple(option.value for option in self.options)
            case "caution":
                found = ("clear",)
            case "done":
                found = (DONE,)
        cured = (CURED,) if self.search is not None else ()
        return (*found, *cured, *((SKIPPED,) if self.may_skip else ()))


class Stage(Record):
    """A group of steps with a spoken title; ``id`` is one of job.closed_lists.STAGES."""

    id: str
    title: str


class Procedure(Record):
    """A whole procedure; ``sha256`` is the hash of its files and of the controller's.

    ``controller`` is the one whose menu is named in its prompts, or None.
    """

    name: str
    title: str
    sha256: str
    stages: tuple[Stage, ...]
    steps: tuple[Step, ...]
    controller: Controller | None = None


class Task(Record):
    """A step for one subject of this job.

    ``key`` is 'step-id' or 'step-id:left leaf'; ``prompt`` and ``brief`` have their subject filled
    in.
    """

    key: str
    step: Step
    subject: Subject
    prompt: str
    brief: str
