"""Prints a check: the verdict, what to do, then the table."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from rich import box
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from handsfree.checks.as_found_as_left import Change
from handsfree.checks.full_check import Check
from handsfree.checks.limit_set import LimitSet, Reminder
from handsfree.checks.number_format import figure
from handsfree.checks.scope import SCOPE
from handsfree.cli.console import new_console
from handsfree.cli.safety_note import SAFETY_NOTE
from handsfree.job.finding import Binding, Finding, Verdict, ruling
from handsfree.job.job import Job
from handsfree.job.quantity import QUANTITIES

_SIGN = {"at least": "≥", "at most": "≤"}
_STYLE = {
    Verdict.PASS: "green",
    Verdict.FAIL: "bold red",
    Verdict.TOO_CLOSE: "yellow",
    Verdict.NOT_JUDGED: "dim",
}
_SHORT = {Verdict.TOO_CLOSE: "too close"}
"""Short verdicts for the column of the table; the lines above it use the full words."""
_ORDER = (Verdict.FAIL, Verdict.TOO_CLOSE, Verdict.NOT_JUDGED)


def show(
    checked: Check,
    limits: LimitSet,
    job: Job,
    name: Callable[[str], str],
    *,
    with_reminders: bool = False,
) -> None:
    """Prints the whole check; ``name`` adjusts the name of a leaf in each text."""
    console = new_console(highlight=False, soft_wrap=False)
    ruled = checked.verdict or Verdict.NOT_JUDGED
    console.print(name(checked.line), style=f"bold {_STYLE[ruled].removeprefix('bold ')}")
    for said in _reasons(checked.findings):
        console.print(name(said))
    for looser in checked.looser:
        console.print(f"Looser limit: {looser}.", style="yellow")
    rows = _rows(checked, pair=len(job.opening.leaves) > 1, name=name)
    if rows:
        console.print(f"By {limits.title}:", markup=False)
        console.print(_table(rows, then=any(change.as_found for change in checked.changes)))
    for time in checked.least_times:
        console.print(_sentence(name(time.words)))
    for fitted in checked.settings:
        what = QUANTITIES[fitted.quantity].spoken
        console.print(_sentence(name(f"{fitted.subject}, {what}: {fitted.words}")))
    for note in checked.notes:
        console.print(_sentence(name(note)))
    if checked.not_read:
        console.print(f"Not read: {', '.join(checked.not_read)}.", style="dim")
    for source, rules in _sources(checked.findings).items():
        console.print(f"{source}: {', '.join(rules)}.", style="dim")
    console.print(SAFETY_NOTE)
    if with_reminders and checked.reminders:
        console.print("To look at as well (reminders, no rulings):", style="dim")
        for reminder in checked.reminders:
            line = Text(reminder_line(reminder), style="dim")
            console.print(Padding(line, (0, 0, 0, 2)))


def reminder_line(reminder: Reminder) -> str:
    """A reminder with its source: '... [2010 ADA Standards, 404.3.1: seen]'."""
    return f"{_sentence(reminder.text)} [{reminder.cite()}]"


def id_(finding: Finding) -> tuple[str, str, str | None]:
    """The key of a finding, unique within its check."""
    return finding.rule, finding.subject, finding.bound


class _Row(tuple[str, ...]):
    """The cells of a row, with its style."""

    style = ""


def _row(style: str, *cells: str) -> _Row:
    row = _Row(cells)
    row.style = style
    return row


def _rows(checked: Check, *, pair: bool, name: Callable[[str], str]) -> list[_Row]:
    """The rows of the table, one a rule, with a heading above each leaf of a pair."""
    then = {id_(change.as_left): change for change in checked.changes if change.as_found}
    by_subject: dict[str, list[_Row]] = {}
    for (subject, rule), found in _by_rule(checked.findings).items():
        if rule == SCOPE:
            continue
        first, verdict = found[0], ruling(found) or _worst(found)
        values = [_value(first)]
        if then:
            values.insert(0, _was(then.get(id_(first))))
        doubt = f"± {figure(first.guard_band)}" if first.guard_band else ""
        row = _row(
            _STYLE[verdict],
            name(rule),
            *values,
            _limit(found, with_unit=not then),
            doubt,
            _verdict(found, verdict),
        )
        by_subject.setdefault(subject, []).append(row)
    for listed in checked.no_limit:
        value = f"{figure(listed.reading)} {listed.unit}"
        row = _row("dim", name(listed.rule), *([""] if then else []), value, "", "", "no limit")
        by_subject.setdefault(listed.subject, []).append(row)
    rows: list[_Row] = []
    for subject, mine in by_subject.items():
        rows += [_row("bold", subject), *mine] if pair else mine
    return rows


def _table(rows: list[_Row], *, then: bool) -> Table:
    table = Table(box=box.SIMPLE_HEAD, padding=(0, 1, 0, 0))
    heads = ["as found", "as left"] if then else ["reading"]
    for head in ("rule", *heads, "limit", "doubt", "verdict"):
        wraps = head in ("rule", "verdict")
        table.add_column(head, no_wrap=not wraps, min_width=10 if wraps else None)
    for row in rows:
        table.add_row(*row, style=row.style)
    return table


def _by_rule(findings: Iterable[Finding]) -> dict[tuple[str, str], list[Finding]]:
    groups: dict[tuple[str, str], list[Finding]] = {}
    for found in findings:
        groups.setdefault((found.subject, found.rule), []).append(found)
    return groups


def _worst(found: list[Finding]) -> Verdict:
    """The worst verdict among the recommendations."""
    verdicts = {one.verdict for one in found}
    return next((verdict for verdict in _ORDER if verdict in verdicts), Verdict.PASS)


def _was(change: Change | None) -> str:
    if change is None or change.as_found is None:
        return ""
    # The next column has the unit.
    was = change.as_found
    value = "" if was.reading is None else f"{figure(was.reading, was.limit)}, "
    return f"{value}{_SHORT.get(was.verdict, was.verdict)}"


def _limit(found: list[Finding], *, with_unit: bool) -> str:
    """A limit as text: '≥ 3.5 s', and '34 to 48 in' for both sides of a range."""
    sides = {
        one.bound: figure(one.limit)
        for one in found
        if one.limit is not None and one.bound is not None
    }
    unit = f" {found[0].unit}" if with_unit else ""
    if len(sides) == len(_SIGN):
        return f"{sides['at least']} to {sides['at most']}{unit}"
    return next((f"{_SIGN[bound]} {limit}{unit}" for bound, limit in sides.items()), "")


def _value(finding: Finding) -> str:
    if finding.reading is None:
        return ""
    return f"{figure(finding.reading, finding.limit)} {finding.unit}"


def _verdict(found: list[Finding], verdict: Verdict) -> str:
    beside = "*" if any(one.note for one in found) else ""
    if found[0].binding is Binding.RECOMMENDATION:
        kept = {Verdict.PASS: "as recommended", Verdict.FAIL: "not as recommended"}
        return kept.get(verdict, str(verdict)) + beside
    return str(_SHORT.get(verdict, verdict)) + beside


def _sources(findings: Iterable[Finding]) -> dict[str, list[str]]:
    """Each source with the rules based on it."""
    by_source: dict[str, list[str]] = {}
    for found in findings:
        source = found.source.partition("; ")[2]
        if source and found.rule not in by_source.setdefault(source, []):
            by_source[source].append(found.rule)
    return by_source


def _reasons(findings: Iterable[Finding]) -> list[str]:
    """The advice, failures first, then the notes on passes; each once."""
    told: list[str] = []
    findings = tuple(findings)
    for verdict in _ORDER:
        told += [
            " ".join(_sentence(said) for said in (found.why, found.advice) if said)
            for found in findings
            if found.verdict is verdict and found.rule != SCOPE
        ]
    told += [
        _sentence(f"* {found.subject}, {found.rule}: {found.note}")
        for found in findings
        if found.note
    ]
    return list(dict.fromkeys(told))


def _sentence(text: str) -> str:
    return f"{text[0].upper()}{text[1:]}."
