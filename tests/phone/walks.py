"""Typed walks on the desktop, for comparison with those of the app."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

from handsfree.checks.limits import load_limits
from handsfree.clock import FakeClock
from handsfree.data import data_folder
from handsfree.job_file.loader import parse_sheet
from handsfree.journal import events as ev
from handsfree.journal.reader import read
from handsfree.journal.writer import Journal
from handsfree.language.interpreter import Language
from handsfree.procedure.loader import load_procedure
from handsfree.recognition.ears import TypedEars
from handsfree.synthesis.mouth import SilentMouth
from handsfree.visit.resume import first_state, opening_event
from handsfree.visit.session import Visit

JOB = (data_folder("audio_fixtures") / "harbour-hall.job.toml").read_text(encoding="utf-8")
PROCEDURE = "controller-replaced-pair"


def bodies_of(events: Iterable[ev.Event]) -> list[dict[str, object]]:
    """The bodies in a journal, without times and without the names of ears and mouth."""
    return [
        {
            key: value
            for key, value in event.body.model_dump(mode="json").items()
            if key not in SHELL
        }
        for event in events
    ]


SHELL = ("ears", "mouth", "model")


def desktop_walk(folder: Path, lines: Iterable[str]) -> list[dict[str, object]]:
    """The bodies of a typed visit that the desktop's own ears and mouth ran."""
    sheet = parse_sheet(JOB, "job")
    procedure, limits = load_procedure(PROCEDURE, None, "en"), load_limits(sheet.limits)
    with Journal.create(folder) as journal:
        visit = Visit(
            journal,
            first_state(sheet, procedure, limits),
            language=Language.load(language="en"),
            ears=TypedEars(lines),
            mouth=SilentMouth("typed"),
            clock=FakeClock(),
            tones=False,
        )
        shell = {"model": "", "ears": "typed", "mouth": "none"}
        visit.open(opening_event(sheet, procedure, limits, **shell))
        visit.run()
    return bodies_of(read(folder))
