"""Asks for a new job at the keyboard, or takes it from options."""

from __future__ import annotations

import sys
from collections.abc import Mapping, Sequence
from datetime import date, timedelta
from pathlib import Path
from typing import Any

from handsfree.checks.limits import shipped_limits
from handsfree.cli.procedure_choice import procedure_titles
from handsfree.cli.terminal import echo
from handsfree.controllers.guide_loader import load_guide
from handsfree.errors import BadValue, HandsfreeError
from handsfree.job.job import Sheet
from handsfree.job.opening import Swing
from handsfree.job_file.loader import sheet_of, with_whole_paths
from handsfree.language.wording import ENGLISH, Wording, languages
from handsfree.procedure.loader import load_procedure

_QUESTIONS = {
    "name": "Name of the opening, for example north entrance",
    "site": "Building",
    "reference": "Number of the work order",
    "technician": "Technician",
    "date": "Day of the visit, for example 2026-12-01",
    "language": f"Language of the visit, one of {', '.join(languages())}",
}
_SWINGS = {
    "single leaf": Swing.SINGLE,
    "pair, both leaves swing the same way": Swing.SAME_WAY,
    "pair, double egress": Swing.DOUBLE_EGRESS,
}
_SHOWN = 30


class _Options:
    """Stated options in the form of a job file's tables; errors name the option."""

    def __init__(self, stated: Mapping[str, str]) -> None:
        job = {key: value for key, value in stated.items() if key not in ("name", "swing")}
        opening = {key: value for key, value in stated.items() if key in ("name", "swing")}
        self.data: dict[str, Any] = {"job": job, "opening": {"name": "a door"} | opening}

    def fault(
        self,
        message: str,
        table: str = "",
        nth: int = 0,
        key: str | None = None,
        way_out: str | None = None,
    ) -> HandsfreeError:
        """Builds the error for an option."""
        option = (key or "").replace("controller_guide", "controller").replace("_", "-")
        return BadValue(f"--{option}: {message}" if option else message, way_out=way_out)


def sheet_of_options(stated: Mapping[str, str], sheet: Sheet | None = None) -> Sheet:
    """The sheet given by the options alone, or ``sheet`` changed by them.

    Raises BadValue for an impossible value, and the error of an unusable procedure or guide.
    """
    stated = {key: " ".join(value.split()) for key, value in stated.items()}
    for key, value in stated.items():
        _check(key, value)
    told = sheet_of(_Options(stated))
    if sheet is not None:
        update = {key: getattr(told, key) for key in stated}
        told = sheet.model_copy(update=update)
    told = with_whole_paths(told, Path.cwd(), shipped_limits())
    if told.procedure:
        load_procedure(told.procedure, None, told.language)
    if told.controller_guide:
        load_guide(told.controller_guide, told.language)
    return told


def asked_sheet(stated: Mapping[str, str]) -> Sheet:
    """Builds the job sheet from typed answers; skips what is already ``stated``.

    An empty answer leaves a question to the visit. An impossible value is asked for again. Raises
    BadValue if the input ends before the opening has a name.
    """
    echo("Press Enter to leave a question to the visit.")
    known = dict(stated)
    for key, question in _QUESTIONS.items():
        if key not in known and (answer := _asked(question, key)):
            known[key] = answer
    if swing := choose("The door is a", tuple(_SWINGS)):
        known["swing"] = _SWINGS[swing]
    if "procedure" not in known:
        titles = procedure_titles(known.get("language", ENGLISH))
        if title := choose("Visit", tuple(titles)):
            known["procedure"] = titles[title]
    return sheet_of_options(known)


def choose(
    question: str, answers: Sequence[str], *, shown: int = _SHOWN, needed: bool = False
) -> str:
    """Prints numbered answers and returns the one whose number or words were typed.

    At most 30 are printed, but any can be typed. Returns '' for an empty line, unless an answer is
    ``needed``. Raises BadValue if the input ends.
    """
    echo(f"{question}:")
    printed = answers[: min(shown, _SHOWN)]
    for number, answer in enumerate(printed, start=1):
        echo(f"{number:>4}  {answer}")
    if len(answers) > len(printed):
        echo(f"      and {len(answers) - len(printed)} more: type a part of the name")
    while True:
        typed = _typed("Number: ", needed=needed)
        if not typed and not needed:
            return ""
        if typed.isdecimal() and 0 < int(typed[:6]) <= len(answers):
            return answers[int(typed) - 1]
        looked_for = typed.lower() if typed and not typed.isdecimal() else None
        named = [each for each in answers if looked_for and looked_for in each.lower()]
        if len(named) == 1:
            return named[0]
        several = f"'{typed}' can be {len(named)} of them" if named else f"there is no '{typed}'"
        echo(f"{several}: type a number from 1 to {len(answers)}")


def _asked(question: str, key: str) -> str:
    """Asks for an answer in free words; repeats the question for the name until it gets one."""
    while True:
        typed = _typed(f"{question}: ", needed=key == "name")
        if typed and (why := refusal(key, typed)):
            echo(why)
        elif typed or key != "name":
            return typed


def refusal(key: str, typed: str) -> str:
    """Says why a text cannot be the value of a key of [job], or the name; '' if it can."""
    try:
        _check(key, typed)
        sheet_of(_Options({key: typed}))
    except BadValue as error:
        return str(error).partition(": ")[2]
    return ""


def _typed(prompt: str, *, needed: bool) -> str:
    """A line without its end; '' at the end of the input, which is an error if it is ``needed``."""
    echo(prompt, nl=False)
    sys.stdout.flush()
    line = sys.stdin.readline()
    if not line:
        echo()
        if needed:
            raise BadValue("the input ended before it was answered", way_out=_WITHOUT_QUESTIONS)
    return " ".join(line.split())


_WITHOUT_QUESTIONS = "name the job by options: see --help"


def _check(key: str, value: str) -> None:
    """Raises BadValue for text that no file or page could show."""
    option = key.replace("_", "-")
    if not value.isprintable():
        raise BadValue(f"--{option}: it contains invisible characters", way_out="retype it")
    if len(value) > 200:
        raise BadValue(f"--{option}: it is longer than 200 characters", way_out="shorten it")


def spoken_day(w: Wording, day: date, today: date) -> str:
    """A day as it is read aloud: 'today', 'December two'."""
    if day == today:
        return w.say("new_today")
    if day == today + timedelta(days=1):
        return w.say("new_tomorrow")
    month = w.name("calendar", f"{day.month:02}")
    return w.say("new_day", month=month, day=w.cardinal(day.day))
