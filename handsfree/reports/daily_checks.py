"""The owner's daily checks of one door, for the record."""

from __future__ import annotations

from handsfree.job.job import Job
from handsfree.procedure.loader import load_procedure
from handsfree.procedure.step import Procedure
from handsfree.procedure.task_selection import applies
from handsfree.reports.printed_text import printed_text
from handsfree.reports.printed_words import PrintedWords
from handsfree.visit_record.visit_record import VisitRecord

_LONG = 400


def daily_checks(
    visit: VisitRecord, words: PrintedWords, procedure: Procedure | None = None
) -> list[str]:
    """The owner's daily checks: the questions of the daily check that apply to this door."""
    procedure = procedure or load_procedure("daily-check", language=words.language)
    leaf = "daily_leaves" if len(visit.opening.leaves) > 1 else "daily_leaf"
    each = {"leaf": words.text(leaf), "plate": words.text("daily_plate")}
    now = Job(sheet=visit.sheet, opening=visit.opening)
    told: list[str] = []
    for step in procedure.steps:
        if step.waits != "observation" or not applies(step, now):
            continue
        about = each.get(step.for_each, words.text("daily_side"))
        text = step.prompt
        for article in ("the ", "la ", "el ", ""):
            text = text.replace(f"{article}{{subject}}", about)
        # The rest of the prompt says how to answer by voice.
        question = text.rfind("?")
        told.append(printed_text(text[: question + 1] if question > 0 else text, _LONG))
    return told
