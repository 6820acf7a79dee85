"""The texts of the owner's record: a visit without anything meant for the office."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from handsfree.checks.measurement_uncertainty import DOOR_SD_S
from handsfree.checks.pass_caveats import one_run
from handsfree.errors import HandsfreeError
from handsfree.language.wording import sentence
from handsfree.procedure.loader import load_procedure
from handsfree.procedure.step import Procedure
from handsfree.reports.daily_checks import daily_checks
from handsfree.reports.letterhead import Letterhead
from handsfree.reports.next_service import next_service
from handsfree.reports.opening_facts import opening_pairs
from handsfree.reports.printed_text import printed_text
from handsfree.reports.printed_words import PrintedWords, printed_words
from handsfree.reports.record_code import code_svg
from handsfree.reports.record_problems import fact_name, names_of, problems_of
from handsfree.reports.record_readings import printed_groups, printed_settings
from handsfree.reports.record_verdict import KIND, verdict_counts, verdict_of_record, verdict_words
from handsfree.reports.summary import findings_as_left
from handsfree.reports.visit_fact_rows import calibration_caveats, visit_fact_rows
from handsfree.reports.visit_time import local, local_day
from handsfree.visit_record.controller_set_up import AS_FOUND
from handsfree.visit_record.visit_record import VisitRecord

_SHORT, _LONG = 90, 400
_MOST = 60
"""Largest number of lines in one part of the record, and of rows for one subject; the report has
all of them.
"""


def record_data(
    visit: VisitRecord,
    language: str | None = None,
    letterhead: Letterhead | None = None,
    daily: Procedure | None = None,
) -> dict[str, Any]:
    """The record's texts, shortened to fit a page and free of control characters.

    ``language`` is the visit's own by default, ``daily`` the owner's daily check, by default the
    shipped one.
    """
    words = printed_words(language or visit.sheet.language)
    paper = letterhead or Letterhead()
    procedure = _procedure(visit.opened.procedure, words.language)
    asked = names_of(procedure)
    verdict = verdict_of_record(visit)
    due, done_on = next_service(visit), local_day(visit, visit.ended)
    problems = problems_of(visit, words, procedure)
    work = procedure.title if procedure is not None else visit.opened.procedure.replace("-", " ")
    return {
        "language": words.language,
        "words": {key: text for key, text in words.texts.items() if isinstance(text, str)},
        "paper": paper.paper,
        "company": _text(paper.company, 80),
        "address": _text(paper.address, 160),
        "logo": bool(paper.logo),
        "opening": _text(visit.opening.name, _SHORT),
        "site": _text(visit.sheet.site, _SHORT),
        "reference": _text(visit.sheet.reference, _SHORT),
        "technician": _text(visit.sheet.technician, _SHORT),
        "work": _text(work, _SHORT),
        "date": [done_on.year, done_on.month, done_on.day] if done_on else None,
        "day": words.day(done_on) if done_on else "",
        "due": words.day(due) if due else "",
        "no_due": words.text("no_next_here" if visit.complete else "no_next_service"),
        "office": _text(_office(visit, words), _SHORT),
        "kind": KIND[verdict],
        "verdict": _text(verdict_words(visit, verdict, words), _SHORT),
        "counts": [_text(each, _LONG) for each in verdict_counts(visit, verdict, words)],
        "problems": [
            {
                "what": _text(row.what, _LONG),
                "about": _text(row.about, _LONG),
                "done": _text(sentence(row.done)[:-1], _LONG),
                "left": _text(sentence(row.left)[:-1], _LONG),
                "open": row.open,
            }
            for row in problems[:_MOST]
        ],
        "more_problems": _more(len(problems), words),
        **_readings(visit, words),
        "parts": [
            [name, _text(value, _SHORT)]
            for name, value in opening_pairs(visit.opening, words.language)
        ],
        "facts": _looked_at(visit, words, asked),
        "set_up": _set_up(visit, words),
        "noted": _noted(visit, words),
        "taken_by": _text(_taken_by(visit), _SHORT),
        "notes": [
            *_cut([_text(each, _LONG) for each in calibration_caveats(visit, words.names)], words),
            *_cut(_measured(visit, words), words),
            *_cut(_caveats(visit, words), words),
            *_cut(list(dict.fromkeys(_text(note.now, _LONG) for note in visit.notes)), words),
        ],
        "daily": daily_checks(visit, words, daily),
        "head": visit.head or "",
        "qr": code_svg(visit, words) if visit.head else "",
        "version": _text(visit.opened.version, 40),
        "leaves": len(visit.opening.leaves),
    }


def _procedure(name: str, language: str) -> Procedure | None:
    """The shipped procedure of a visit in a language; None for a company's own procedure."""
    try:
        return load_procedure(name, language=language)
    except HandsfreeError:
        return None


def _office(visit: VisitRecord, words: PrintedWords) -> str:
    signed = visit.sign_off
    if signed is None:
        return words.text("not_signed")
    if not visit.signed:
        return words.text("signed_before")
    day = local_day(visit, signed.at)
    return words.text("signed", by=signed.by, day=words.day(day) if day else "")


def _readings(visit: VisitRecord, words: PrintedWords) -> dict[str, Any]:
    """The groups of readings, and the sources that their rows refer to by number."""
    sources: dict[str, int] = {}
    groups = []
    for group in printed_groups(visit, words):
        rows = []
        for row in group.rows[:_MOST]:
            number = sources.setdefault(row.source, len(sources) + 1) if row.source else 0
            cut = {name: _text(getattr(row, name), 60) for name in ("what", "limit", "result")}
            values = {name: _text(getattr(row, name), 40) for name in ("found", "left")}
            rows.append({**cut, **values, "kind": row.kind, "source": str(number or "")})
        alone = len(rows) == 1 and not group.also  # a subject with one row needs no heading
        if alone:
            rows[0]["what"] = _text(f"{rows[0]['what']}, {group.subject}", 60)
        groups.append(
            {
                "subject": "" if alone else _text(sentence(group.subject)[:-1], _SHORT),
                "rows": rows,
                "also": [_text(each, _SHORT) for each in group.also[:_MOST]],
                "more": _more(len(group.rows), words),
            }
        )
    limits = words.text("limit_set", name=visit.opened.limits, hash=visit.opened.limits_sha256[:12])
    return {
        "groups": groups,
        "sources": [[str(at), _text(each, _LONG)] for each, at in sources.items()],
        "limits": _text(limits, _SHORT),
    }


def _looked_at(visit: VisitRecord, words: PrintedWords, asked: Mapping[str, str]) -> list[str]:
    """The observations that are OK, by subject: 'left leaf: swings freely, arm'."""
    seen: dict[str, list[str]] = {}
    for fact in visit.facts:
        if fact.value == "in_order":
            seen.setdefault(fact.subject, []).append(fact_name(fact.name, asked))
    lines = [f"{words.names.subject(of)}: {', '.join(names)}" for of, names in seen.items()]
    return _cut([_text(line, _LONG) for line in lines], words)


def _taken_by(visit: VisitRecord) -> str:
    """The typed name of the person who took over the door; '' if it exists only as sound."""
    told = [each.value for each in visit.visit_facts if each.name == "taken_over_by"]
    return told[-1] if told else ""


def _noted(visit: VisitRecord, words: PrintedWords) -> list[list[str]]:
    """The visit facts as names and values, without those that exist only as sound."""
    rows = []
    for row in visit_fact_rows(visit, words.names):
        value = row.value or (words.text("typed_up", text=row.typed_up) if row.typed_up else "")
        if row.moment:
            at = local(visit, row.at)
            value = at.strftime("%H:%M") if at is not None else ""
        if value:
            rows.append((sentence(row.name)[:-1], value))
    told: dict[str, list[str]] = {}
    for name, value in rows:
        told.setdefault(name, []).append(_text(value, _SHORT))
    return [[_text(name, _SHORT), "; ".join(values)] for name, values in told.items()][:_MOST]


def _set_up(visit: VisitRecord, words: PrintedWords) -> list[dict[str, str]]:
    """The final entries and settings of the controller."""
    how = {"made": "", "left": words.text("entry_left"), "failed": words.text("entry_failed")}
    rows = [
        {
            "called": _text(row.called or "", 40),
            "name": _text(row.name, _SHORT),
            "value": _text(row.value or how[row.outcome] or row.shown or "", 40),
        }
        for row in visit.set_up
        if not row.entry.startswith(AS_FOUND)
    ]
    rows += [
        {"called": "", "name": _text(name, _SHORT), "value": _text(value, 40)}
        for name, value in printed_settings(visit, words)
    ]
    return rows[:_MOST]


def _measured(visit: VisitRecord, words: PrintedWords) -> list[str]:
    """The leaves measured by a sensor."""
    subjects = dict.fromkeys(each.subject for each in visit.quantities if each.logs)
    return [
        _text(words.text("by_sensor", subject=words.names.subject(each)), _LONG)
        for each in subjects
    ]


def _caveats(visit: VisitRecord, words: PrintedWords) -> list[str]:
    """The caveats of passes: a run that fails, runs that differ, a looser limit."""
    found_all = findings_as_left(visit)
    told = [
        _text(
            words.text(
                "pass_but",
                what=f"{words.names.subject(found.subject)}, "
                f"{words.names.name('rule', found.rule.replace('_', ' '))}",
                note=found.note,
            ),
            _LONG,
        )
        for found in found_all
        if found.note
    ]
    if one_run(found_all):
        told.append(_text(words.text("one_run", seconds=f"{DOOR_SD_S:g}"), _LONG))
    return told


def _more(count: int, words: PrintedWords) -> str:
    return words.text("more", count=count - _MOST) if count > _MOST else ""


def _cut(lines: list[str], words: PrintedWords) -> list[str]:
    """The lines that the record can hold, and the number of lines left out."""
    more = _more(len(lines), words)
    return [*lines[:_MOST], more] if more else lines


def _text(text: object, most: int) -> str:
    return printed_text(text, most)
