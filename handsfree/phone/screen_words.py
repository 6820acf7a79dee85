"""Puts a glance into the words of the visit's language; its own are the English ones."""

from __future__ import annotations

from handsfree.dialogue.sentences import VERDICTS
from handsfree.language.wording import ENGLISH, Wording
from handsfree.visit_record.glance import Glance, ReadingRow


def glance_in(glance: Glance, w: Wording, place: str) -> dict[str, object]:
    """The glance for the page. Each row has the verdict's name for the style, and its words in
    ``told``; ``place`` is the step with its number, '' if no step is open.
    """
    shown: dict[str, object] = glance.model_dump(mode="json")
    shown["rows"] = [_row(row, w) for row in glance.rows]
    if w.language != ENGLISH:
        shown["step"] = place
        shown["fault"] = glance.fault and w.say(f"fault_{glance.fault.replace(' ', '_')}")
    return shown


def _row(row: ReadingRow, w: Wording) -> dict[str, object]:
    shown: dict[str, object] = row.model_dump(mode="json")
    shown["told"] = row.verdict or ""
    if w.language != ENGLISH:
        limits = (f"{w.say(bound.replace(' ', '_'))} {limit}" for bound, limit in row.limits)
        shown["limit"] = ", ".join(limits)
        shown["subject"] = w.subject(row.subject)
        shown["quantity"] = w.name("rule", row.quantity)
        shown["told"] = w.say(VERDICTS[row.verdict]).rstrip(".").lower() if row.verdict else ""
    return shown
