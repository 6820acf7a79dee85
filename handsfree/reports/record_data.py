"""The texts of the owner's record: a visit without anything meant for the office."""

from __future__ import annotations

import unicodedata
from typing import Any

from handsfree.checks.pass_caveats import one_run
from handsfree.job.job import Fact
from handsfree.journal.office_events import DECISIONS
from handsfree.journal.plain_words import words_of
from handsfree.language.wording import sentence
from handsfree.procedure.loader import load_procedure
from handsfree.procedure.step import Procedure
from handsfree.reports.next_service import day_of, next_service
from handsfree.reports.opening_facts import opening_pairs
from handsfree.reports.reading_rows import SubjectRows, groups_of
from handsfree.reports.summary import findings_as_left, summary_of
from handsfree.reports.summary_text import SAFETY_NOTE
from handsfree.visit_record.controller_set_up import AS_FOUND
from handsfree.visit_record.event_words import fact_words
from handsfree.visit_record.open_items import OpenItem
from handsfree.visit_record.visit_record import VisitRecord

_SHORT, _LONG = 90, 400
_MOST = 60
"""Most lines of one part of the record and rows of one subject; the report has all."""
_UNBROKEN = 18


def record_data(visit: VisitRecord, daily: Procedure | None = None) -> dict[str, Any]:
    """The record's texts, cut to fit a page and free of control characters.

    ``daily`` is the owner's daily check, the shipped one by default.
    """
    due = next_service(visit)
    signed = visit.sign_off
    return {
        "title": "Record of service",
        "opening": _text(visit.opening.name, _SHORT),
        "site": _text(visit.sheet.site, _SHORT),
        "reference": _text(visit.sheet.reference, _SHORT),
        "technician": _text(visit.sheet.technician, _SHORT),
        "day": str(day_of(visit.began) or ""),
        "done": _text(words_of(visit.opened.procedure).replace("-", " "), _SHORT),
        "limits": _text(f"{visit.opened.limits} ({visit.opened.limits_sha256[:12]})", _SHORT),
        "verdict": _text(verdict_of_record(visit), 700),
        "good": _good(visit),
        "parts": [[name, _text(value, _SHORT)] for name, value in opening_pairs(visit.opening)],
        "groups": [
            {
                "subject": _text(group.subject, _SHORT),
                "rows": _rows(group),
            }
            for group in groups_of(visit)
            if any(row.left for row in group.rows)
        ],
        "open": _cut([_open_item(item) for item in visit.open_items]),
        "faults": _cut([_text(sentence(life.line), _LONG) for life in visit.door_faults]),
        "facts": _cut(
            [
                _text(fact_words(Fact(subject=f.subject, name=f.name, value=f.value)), _SHORT)
                for f in visit.facts
                if f.value in ("in_order", "not_in_order")
            ]
        ),
        "set_up": _set_up(visit),
        "notes": [
            *_cut(_measured(visit)),
            *_cut(_beside(visit)),
            *_cut([_text(note.now, _LONG) for note in visit.notes]),
        ],
        "daily": daily_checks(daily or load_procedure("daily-check"), visit),
        "due": str(due or ""),
        "signed": _text(f"{signed.by}, {day_of(signed.at) or ''}", _SHORT)
        if signed is not None and visit.signed
        else "",
        "signed_before": signed is not None and not visit.signed,
        "safety": SAFETY_NOTE,
        "head": visit.head or "",
        "lines": visit.verification.lines,
        "version": _text(visit.opened.version, 40),
    }


def verdict_of_record(visit: VisitRecord) -> str:
    """The verdict of the visit; of a broken journal, a warning instead."""
    broken = visit.verification.broken
    if broken is not None:
        return (
            f"The journal of this visit {broken.told}. "
            "What follows is what stands before it, and nothing to rely on."
        )
    return summary_of(visit).verdict


def daily_checks(procedure: Procedure, visit: VisitRecord) -> list[str]:
    """The owner's daily checks: the questions of the daily check for this opening."""
    lock = visit.opening.lock != "none"
    pair = len(visit.opening.leaves) > 1
    told: list[str] = []
    for step in procedure.steps:
        if step.waits != "observation" or ("lock" in step.applies and not lock):
            continue
        if any(condition not in ("lock",) for condition in step.applies):
            continue
        subject = {"leaf": "each leaf" if pair else "the leaf", "plate": "each plate"}
        about = subject.get(step.for_each, "each side")
        text = step.prompt.replace("the {subject}", about).replace("{subject}", about)
        text = text.partition(" Say in order")[0]
        told.append(_text(text, _LONG))
    return told


def _rows(group: SubjectRows) -> list[dict[str, str]]:
    """The standing rows of a subject, as many as the record can hold."""
    standing = [row for row in group.rows if row.left]
    shown = [
        {
            "what": _text(row.what, 60),
            "found": _text(row.found or row.left, 40),
            "left": _text(row.left, 40),
            "limit": _text(row.limit, 40),
            "clause": _text(row.clause, 60),
            "kind": row.verdict,
            "verdict": row.verdict_words,
        }
        for row in standing[:_MOST]
    ]
    if len(standing) > _MOST:
        last = f"and {len(standing) - _MOST} more: the report has them"
        empty = dict.fromkeys(("found", "left", "limit", "clause", "kind", "verdict"), "")
        shown.append({"what": last, **empty})
    return shown


def _set_up(visit: VisitRecord) -> list[dict[str, str]]:
    """The set-up sheet of the door: the entries of the controller as they were left."""
    how = {"made": "", "left": "left out", "failed": "failed"}
    return [
        {
            "called": _text(row.called or "", 40),
            "name": _text(row.name, _SHORT),
            "value": _text(row.value or "", 40),
            "shown": _text(" ".join(filter(None, (row.shown, how[row.outcome]))), 40),
        }
        for row in [each for each in visit.set_up if not each.entry.startswith(AS_FOUND)][:_MOST]
    ]


def _measured(visit: VisitRecord) -> list[str]:
    """Which leaves a sensor measured, each with the name of its log."""
    logs = dict.fromkeys((each.subject, log) for each in visit.quantities for log in each.logs)
    return [
        _text(f"The times of the {subject} were taken by a sensor on the leaf, log {log}.", _LONG)
        for subject, log in logs
    ]


def _beside(visit: VisitRecord) -> list[str]:
    """The caveats of passes: a run that fails, runs that differ, a looser limit."""
    found_all = findings_as_left(visit)
    told = [
        _text(f"{found.subject}, {words_of(found.rule)}: in order, but {found.note}", _LONG)
        for found in found_all
        if found.note
    ]
    single = one_run(found_all)
    return [*told, _text(sentence(single), _LONG)] if single else told


def _cut(lines: list[str]) -> list[str]:
    """As many lines as the record can hold, and how many more there are."""
    more = len(lines) - _MOST
    return lines if more <= 0 else [*lines[:_MOST], f"and {more} more: the report has them"]


def _good(visit: VisitRecord) -> bool:
    """Whether everything passes and nothing is open; never for a door that is not judged."""
    counted = summary_of(visit).tally
    judged = counted.total > 0 and not counted.outside and not counted.unjudged
    return visit.verification.whole and visit.complete and judged and not visit.open_items


def _open_item(item: OpenItem) -> str:
    text = item.what if item.kind != "skipped" else f"not done: {item.what}"
    text = f"too close to call: {text}" if item.kind == "too close" else text
    text = f"not judged: {text}" if item.kind == "not judged" else text
    by = f" by {item.accepted_by}" if item.accepted_by else ""
    said = [item.word.replace("_", " ") + by] if item.word else []
    said += [f"office: {DECISIONS[item.decision.decision]}"] if item.decision else []
    return _text(text + (f" ({'; '.join(said)})" if said else ""), _LONG)


def _text(text: object, most: int) -> str:
    """One printable line without control characters or words wider than a column."""
    shown = "".join(
        " " if letter.isspace() else letter
        for letter in unicodedata.normalize("NFC", str(text))
        if letter.isspace() or unicodedata.category(letter)[0] != "C"
    )
    shown = " ".join(shown.split())
    shown = shown if len(shown) <= most else shown[: most - 1].rstrip() + "…"
    return " ".join(_breakable(word) for word in shown.split(" "))


def _breakable(word: str) -> str:
    """A word with zero-width spaces, so that a long one can be broken."""
    if len(word) <= _UNBROKEN:
        return word
    return "\u200b".join(word[at : at + _UNBROKEN] for at in range(0, len(word), _UNBROKEN))
