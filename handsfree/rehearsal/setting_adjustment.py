"""The technician's change of a setting in response to the tool's advice."""

from __future__ import annotations

import math
import re

from handsfree.job.opening import Side
from handsfree.job.quantity import Quantity
from handsfree.job.reading import Subject
from handsfree.rehearsal.door import Door
from handsfree.rehearsal.measurements import SETTING_OF
from handsfree.rehearsal.operator import BACKCHECK_DEG, SettingName

_FIGURE = re.compile(r"\d+(?:\.\d+)?")


class ReadingHistory:
    """The readings so far: values by quantity and leaf, each with its setting."""

    def __init__(self) -> None:
        self.read: dict[tuple[Quantity, Subject], list[tuple[int, float]]] = {}

    def note(self, quantity: Quantity, subject: Subject, setting: int, value: float) -> None:
        """Adds a value at a setting."""
        self.read.setdefault((quantity, subject), []).append((setting, value))

    def last(self, quantity: Quantity, subject: Subject) -> float | None:
        """The latest value, or None."""
        known = self.read.get((quantity, subject))
        return known[-1][1] if known else None

    def tried(self, quantity: Quantity, subject: Subject) -> list[tuple[int, float]]:
        """Every value with its setting, oldest first."""
        return self.read.get((quantity, subject), [])


def adjust(
    door: Door,
    quantity: Quantity,
    subject: Subject,
    advice: dict[str, str],
    memory: ReadingHistory,
) -> tuple[SettingName, int, int] | None:
    """Changes the setting of a quantity; returns its name, the old and the new value.

    ``advice`` holds the words of the last advice, including the aim. Returns None if there is
    nothing to change.
    """
    name = SETTING_OF.get(quantity)
    if name is None:
        return None
    side = door.side_of(subject)
    before = door.setting(side, name)
    wanted = _wanted(name, quantity, subject, side, door, advice, memory)
    after = door.set(side, name, wanted)
    return name, before, after


def _wanted(
    name: SettingName,
    quantity: Quantity,
    subject: Subject,
    side: Side,
    door: Door,
    advice: dict[str, str],
    memory: ReadingHistory,
) -> int:
    now = door.setting(side, name)
    if name == "backcheck_angle":
        return min(BACKCHECK_DEG[1], max(now + 5, 60))
    aim, last = _figure(advice.get("aim")), memory.last(quantity, subject)
    missing = abs(aim - last) if aim is not None and last is not None else None
    if quantity is Quantity.HOLD_OPEN_TIME or name.endswith("force"):
        return _by_steps(name, quantity, subject, now, missing, memory)
    share = _share(quantity, subject, advice, missing, memory)
    by_line = _by_line(quantity, subject, share, memory)
    slower = math.floor(now * share)
    wanted = slower if by_line is None else min(slower, by_line)
    return min(wanted, now - 1)


def _share(
    quantity: Quantity,
    subject: Subject,
    advice: dict[str, str],
    missing: float | None,
    memory: ReadingHistory,
) -> float:
    """Ratio of the target speed to the current speed."""
    last = memory.last(quantity, subject)
    if quantity is Quantity.TOTAL_OPENING_TIME and missing and last:
        # Only the part after backcheck is adjusted, so it has to provide all of the missing time.
        to_backcheck = memory.last(Quantity.OPENING_TIME, subject) or last / 2
        rest = max(0.5, last - to_backcheck)
        return rest / (rest + missing)
    aim = _figure(advice.get("aim"))
    if aim and last:
        return last / aim
    return 0.9


def _by_line(
    quantity: Quantity, subject: Subject, share: float, memory: ReadingHistory
) -> int | None:
    """The setting from two tried ones, because speed is nearly linear in the setting."""
    tried = memory.tried(quantity, subject)
    if quantity is Quantity.TOTAL_OPENING_TIME or len({setting for setting, _ in tried}) < 2:
        return None
    (one, time_one), (two, time_two) = tried[0], tried[-1]
    slope = (1 / time_two - 1 / time_one) / (two - one) if two != one else 0.0
    if slope <= 0:
        return None
    return math.floor(two - (1 - share) / time_two / slope)


def _by_steps(
    name: SettingName,
    quantity: Quantity,
    subject: Subject,
    now: int,
    missing: float | None,
    memory: ReadingHistory,
) -> int:
    """Raises the setting of a time that is too short, lowers that of a force that is too large."""
    up = not name.endswith("force")
    need = missing if missing is not None else 1.0
    tried = memory.tried(quantity, subject)
    per_step = 1.0
    if len({setting for setting, _ in tried}) >= 2:
        (one, value_one), (two, value_two) = tried[0], tried[-1]
        if two != one and value_two != value_one:
            per_step = max(0.05, abs((value_two - value_one) / (two - one)))
    elif not up:
        per_step = max(0.5, (memory.last(quantity, subject) or 10.0) / 15)
    steps = max(1, math.ceil(need / per_step + 0.25))
    return now + steps if up else now - steps


def _figure(words: str | None) -> float | None:
    found = _FIGURE.search(words or "")
    return float(found[0]) if found else None
