"""The check as a table with its reasons, for a screen."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from rich import box
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from handsfree.checks.limit_set import LimitSet, Reminder
from handsfree.checks.spoken import figure
from handsfree.checks.then_and_now import Change
from handsfree.checks.whole import Check
from handsfree.cli.terminal import new_console
from handsfree.job.finding import Binding, Finding, Verdict
from handsfree.job.job import Job
from handsfree.job.quantity import QUANTITIES

SAFETY_NOTE = (
    "The formula takes a constant speed: a leaf that meets its time and ramps up hard can still "
    "exceed the energy. Local codes, the authority having jurisdiction and licensed practice "
    "come first; this check makes no door safe."
)
_SIGN = {"at least": "≥", "at most": "≤"}
_STYLE = {
    Verdict.PASS: "green",
    Verdict.FAIL: "bold red",
    Verdict.TOO_CLOSE: "yellow",
    Verdict.NOT_JUDGED: "dim",
}


def show(checked: Check, limits: LimitSet, job: Job, name: Callable[[str], str]) -> None:
    """Prints the whole check; ``name`` has the last word on how a leaf is called."""
    console = new_console(highlight=False, soft_wrap=False)
    console.print(_table(checked, limits, pair=len(job.opening.leaves) > 1, name=name))
    for said in _reasons(checked.findings):
        console.print(name(said))
    for time in checked.least_times:
        console.print(_sentence(name(time.words)))
    for fitted in checked.settings:
        what = QUANTITIES[fitted.quantity].spoken
        console.print(_sentence(name(f"{fitted.subject}, {what}: {fitted.words}")))
    for note in checked.notes:
        console.print(_sentence(name(note)))
    if checked.not_read:
        console.print(f"Not read: {', '.join(checked.not_read)}.", style="dim")
    if checked.reminders:
        console.print("To look at as well (reminders, no rulings):", style="dim")
        for reminder in checked.reminders:
            line = Text(reminder_line(reminder), style="dim")
            console.print(Padding(line, (0, 0, 0, 2)))
    console.print(name(checked.line), style="bold")
    console.print(SAFETY_NOTE)


def reminder_line(reminder: Reminder) -> str:
    """A reminder with its source: '... [2010 ADA Standards, 404.3.1: seen]'."""
    return f"{_sentence(reminder.text)} [{reminder.cite()}]"


def _table(checked: Check, limits: LimitSet, *, pair: bool, name: Callable[[str], str]) -> Table:
    table = Table(
        title=limits.title, title_justify="left", box=box.SIMPLE_HEAD, padding=(0, 1, 0, 0)
    )
    then = {id_(change.as_left): change for change in checked.changes if change.as_found}
    heads = ["rule", *(["as found", "as left"] if then else ["reading"])]
    for head in (*(["of"] if pair else []), *heads, "limit", "doubt", "verdict", "source"):
        table.add_column(head, overflow="fold", min_width=11 if head == "verdict" else None)
    for finding in checked.findings:
        change = then.get(id_(finding))
        values = [_value(finding)]
        if then:
            values.insert(0, _was(change))
        table.add_row(
            *([str(finding.subject)] if pair else []),
            name(finding.rule),
            *values,
            _limit(finding),
            f"± {figure(finding.guard_band)}" if finding.guard_band else "",
            _verdict(finding),
            _clause(finding.source, limits),
            style=_STYLE[finding.verdict],
        )
    return table


def id_(finding: Finding) -> tuple[str, str, str | None]:
    """What tells a finding from the others of its check."""
    return finding.rule, finding.subject, finding.bound


def _was(change: Change | None) -> str:
    if change is None or change.as_found is None:
        return ""
    return f"{_value(change.as_found)}, {change.as_found.verdict}"


def _limit(finding: Finding) -> str:
    if finding.limit is None or finding.bound is None:
        return ""
    return f"{_SIGN[finding.bound]} {figure(finding.limit)} {finding.unit}"


def _value(finding: Finding) -> str:
    if finding.reading is None:
        return ""
    return f"{figure(finding.reading, finding.limit)} {finding.unit}"


def _verdict(finding: Finding) -> str:
    if finding.binding is Binding.RECOMMENDATION:
        kept = {Verdict.PASS: "as recommended", Verdict.FAIL: "not as recommended"}
        return kept.get(finding.verdict, str(finding.verdict))
    return str(finding.verdict)


def _clause(source: str, limits: LimitSet) -> str:
    """The source of a finding without what the title of the table says already."""
    standard = limits.title.partition(",")[0]
    return source.partition("; ")[2].removeprefix(standard).lstrip(" ,:")


def _reasons(findings: Iterable[Finding]) -> list[str]:
    """Why something does not pass, and what to do; said once however many rules it touches."""
    told = [
        " ".join(_sentence(said) for said in (finding.why, finding.advice) if said)
        for finding in findings
        if finding.verdict is not Verdict.PASS
    ]
    return list(dict.fromkeys(told))


def _sentence(text: str) -> str:
    return f"{text[0].upper()}{text[1:]}."
