"""What stands on the owner's record, as plain texts: a dossier without anything for the office."""

from __future__ import annotations

import unicodedata
from typing import Any

from handsfree.checks.pass_caveats import one_run
from handsfree.job.job import Fact
from handsfree.language.wording import sentence
from handsfree.procedure.loader import load_procedure
from handsfree.procedure.step import Procedure
from handsfree.reports.dossier import Dossier
from handsfree.reports.next_service import day_of, next_service
from handsfree.reports.office_text import DECISIONS, fact_words, opening_pairs, words_of
from handsfree.reports.reading_rows import Group, groups_of
from handsfree.reports.summary_text import SAFETY_NOTE

_SHORT, _LONG = 90, 400
_MOST = 60
"""Lines of one part of the record, and rows of one leaf; the report has all of them."""
_UNBROKEN = 18


def record_data(dossier: Dossier, daily: Procedure | None = None) -> dict[str, Any]:
    """The record's texts, each cut to what a page can hold and free of what steers a layout.

    ``daily`` is the daily check that the owner is told, the shipped one by default.
    """
    summary = dossier.summary
    due = next_service(dossier)
    signed = dossier.sign_off
    return {
        "title": "Record of service",
        "opening": _text(summary.opening, _SHORT),
        "site": _text(summary.site, _SHORT),
        "reference": _text(summary.reference, _SHORT),
        "technician": _text(summary.technician, _SHORT),
        "day": str(day_of(dossier.began) or ""),
        "done": _text(words_of(dossier.procedure).replace("-", " "), _SHORT),
        "limits": _text(f"{dossier.limits} ({dossier.limits_sha256[:12]})", _SHORT),
        "verdict": _text(verdict_of_record(dossier), 700),
        "good": _good(dossier),
        "parts": [[name, _text(value, _SHORT)] for name, value in opening_pairs(dossier.opening)],
        "groups": [
            {
                "subject": _text(group.subject, _SHORT),
                "rows": _rows(group),
            }
            for group in groups_of(dossier)
            if any(row.left for row in group.rows)
        ],
        "open": _cut([_matter(matter) for matter in dossier.matters]),
        "facts": _cut(
            [
                _text(fact_words(Fact(subject=f.subject, name=f.name, value=f.value)), _SHORT)
                for f in dossier.facts
                if f.value in ("in_order", "not_in_order")
            ]
        ),
        "notes": [
            *_cut(_beside(dossier)),
            *_cut([_text(note.now, _LONG) for note in dossier.notes]),
        ],
        "daily": daily_checks(daily or load_procedure("daily-check"), dossier),
        "due": str(due or ""),
        "signed": _text(f"{signed.by}, {day_of(signed.at) or ''}", _SHORT)
        if signed is not None and dossier.signed
        else "",
        "signed_before": signed is not None and not dossier.signed,
        "safety": SAFETY_NOTE,
        "head": dossier.head or "",
        "lines": dossier.verification.lines,
        "version": _text(dossier.version, 40),
    }


def verdict_of_record(dossier: Dossier) -> str:
    """What the visit came to; of a broken journal, that nothing here can be relied on."""
    broken = dossier.verification.broken
    if broken is not None:
        return (
            f"The journal of this visit {broken.told}. "
            "What follows is what stands before it, and nothing to rely on."
        )
    return dossier.summary.verdict


def daily_checks(procedure: Procedure, dossier: Dossier) -> list[str]:
    """What the owner looks at every day: the questions of the daily check for this opening."""
    lock = dossier.opening.lock != "none"
    pair = len(dossier.opening.leaves) > 1
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


def _rows(group: Group) -> list[dict[str, str]]:
    """The rows of a leaf that stand, as many as a record can hold."""
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


def _beside(dossier: Dossier) -> list[str]:
    """What has to be said beside a pass: a run that fails, runs that differ, a looser limit."""
    found_all = [found for line in dossier.summary.lines for found in line.findings]
    told = [
        _text(f"{found.subject}, {words_of(found.rule)}: in order, but {found.note}", _LONG)
        for found in found_all
        if found.note
    ]
    single = one_run(found_all)
    return [*told, _text(sentence(single), _LONG)] if single else told


def _cut(lines: list[str]) -> list[str]:
    """As many lines as a record can hold, and how many there are more."""
    more = len(lines) - _MOST
    return lines if more <= 0 else [*lines[:_MOST], f"and {more} more: the report has them"]


def _good(dossier: Dossier) -> bool:
    """Whether nothing is left to see to: a door that is not judged is never shown as good."""
    counted = dossier.summary.tally
    judged = counted.total > 0 and not counted.outside and not counted.unjudged
    return dossier.verification.whole and dossier.complete and judged and not dossier.matters


def _matter(matter: Any) -> str:
    text = matter.what if matter.kind != "skipped" else f"not done: {matter.what}"
    text = f"too close to call: {text}" if matter.kind == "too close" else text
    text = f"not judged: {text}" if matter.kind == "not judged" else text
    said = [matter.word.replace("_", " ")] if matter.word else []
    said += [f"office: {DECISIONS[matter.decision.decision]}"] if matter.decision else []
    return _text(text + (f" ({'; '.join(said)})" if said else ""), _LONG)


def _text(text: object, most: int) -> str:
    """One line that can be set: no control or steering signs, no word wider than a column."""
    shown = "".join(
        " " if letter.isspace() else letter
        for letter in unicodedata.normalize("NFC", str(text))
        if letter.isspace() or unicodedata.category(letter)[0] != "C"
    )
    shown = " ".join(shown.split())
    shown = shown if len(shown) <= most else shown[: most - 1].rstrip() + "…"
    return " ".join(_breakable(word) for word in shown.split(" "))


def _breakable(word: str) -> str:
    """A word that is too long can be broken anywhere in its second half, at no width."""
    if len(word) <= _UNBROKEN:
        return word
    return "\u200b".join(word[at : at + _UNBROKEN] for at in range(0, len(word), _UNBROKEN))
