"""The records of a controller guide: entries, learn cycle, settings and codes."""

from __future__ import annotations

from decimal import Decimal
from typing import Literal

from pydantic import Field

from handsfree.job.quantity import Quantity
from handsfree.job.record import Record
from handsfree.procedure.controller import Controller

LEARN = "learn"
"""The id of the learn cycle in the walk; no step of a guide may have it."""

ComesUp = Literal["set_up", "learn", "running"]


class Seen(Record):
    """Characters of a display, or blinks of a light, as a controller shows them.

    ``shows`` are letters and digits ('A1'); ``blinks`` are counts with pauses between ('2 3'). Both
    are None if nothing is shown.
    """

    shows: str | None = None
    blinks: str | None = None

    @property
    def mark(self) -> str | None:
        """The indication as text for comparison: 'A1' or '2 3 blinks'; None if nothing is shown."""
        return f"{self.blinks} blinks" if self.blinks else self.shows


class Value(Seen):
    """One value of an entry: for which doors (``when``), how it is said, what is seen after it.

    All conditions of ``when`` have to hold; a value without one is for every other door.
    """

    when: tuple[str, ...] = ()
    say: str


class SetUpStep(Seen):
    """One thing to enter or to do, in the order of the file.

    ``called`` is where it is entered ('entry three'), ``name`` what is set, ``say`` what to do if
    it is more than setting a value. ``control`` is the id of the switch, dial or button that is
    worked. ``before`` is what is shown before it, ``if_not`` what to do if something else is shown
    after it. When it is entered again, the steps in ``needs`` come again before it and ``saved_by``
    after it. ``place`` is ``called`` as 'go to' names it: a noun and a number.
    """

    id: str
    name: str
    called: str | None = None
    control: str | None = None
    say: str | None = None
    applies: tuple[str, ...] = ()
    value: tuple[Value, ...] = ()
    before: str | None = None
    if_not: str | None = None
    needs: tuple[str, ...] = ()
    saved_by: str | None = None
    why: str = ""
    place: tuple[str, Decimal] | None = None

    @property
    def conditions(self) -> tuple[str, ...]:
        """Every condition that the step depends on, without repetitions."""
        own = (*self.applies, *(each for value in self.value for each in value.when))
        return tuple(dict.fromkeys(own))


class Ending(Seen):
    """An ending of the learn cycle: ``say`` describes in a sentence how it looks."""

    say: str


class Learn(Record):
    """The learn cycle: preparation, start, indications and endings.

    ``takes_s`` is its duration (s). ``after`` is what remains to be done after it succeeds.
    """

    before: tuple[str, ...] = ()
    start: str
    seen: str
    takes_s: int = Field(gt=0, le=3600)
    success: Ending
    failure: Ending
    after: tuple[str, ...] = ()


class Setting(Record):
    """A setting, named as the maker names it.

    ``quantity`` is the visit's quantity for this setting, if it has one. It goes from ``low`` to
    ``high`` in steps of ``step``; ``default`` is the factory setting. A higher value makes the
    quantity ``raises`` larger, or the quantity ``lowers`` smaller. ``save`` says how it is kept,
    ``place`` is ``called`` as 'go to' names it.
    """

    id: str
    name: str
    called: str
    quantity: Quantity | None = None
    low: Decimal
    high: Decimal
    step: Decimal
    default: Decimal
    raises: str | None = None
    lowers: str | None = None
    save: str | None = None
    place: tuple[str, Decimal] | None = None


class Code(Seen):
    """A code: its meaning, where it can appear, and what to do about it.

    ``entry`` is the step to enter again, ``search`` the search tree that finds the cause.
    """

    means: str
    comes_up: ComesUp
    remedy: str
    entry: str | None = None
    search: str | None = None


class Control(Record):
    """A switch, a dial or a button: its spoken name, and how a value is entered with it.

    ``enter`` holds {called} and {value}: 'Put {called} {value}.'
    """

    id: str
    called: str
    enter: str


class Guide(Controller):
    """The whole guide of one controller model."""

    set_up: tuple[SetUpStep, ...]
    learn: Learn
    settings: tuple[Setting, ...] = ()
    codes: tuple[Code, ...] = ()
    controls: tuple[Control, ...] = ()

    def step(self, step_id: str) -> SetUpStep | None:
        """The step of that id, or None."""
        return next((step for step in self.set_up if step.id == step_id), None)

    def control(self, control_id: str | None) -> Control | None:
        """The switch, dial or button of that id, or None."""
        return next((one for one in self.controls if one.id == control_id), None)

    def setting_at(self, place: tuple[str, Decimal]) -> Setting | None:
        """The setting that is entered at that noun and number, or None."""
        return next((each for each in self.settings if each.place == place), None)

    def code(self, mark: str) -> Code | None:
        """The code with this indication, or None if the guide does not list it."""
        return next((code for code in self.codes if code.mark == mark), None)
