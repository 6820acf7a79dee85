"""The summary of a visit as plain text, for a screen, a file or an email."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from decimal import Decimal

from handsfree.checks.measured_energy import MEASURED_RULES
from handsfree.checks.number_format import counted
from handsfree.checks.pass_caveats import one_run
from handsfree.job.finding import Finding, Verdict, ruling
from handsfree.job.quantity import QUANTITIES
from handsfree.job.reading import Subject
from handsfree.language.wording import sentence
from handsfree.reports.summary import Summary
from handsfree.visit_record.cycles import RunMark, TimedRun
from handsfree.visit_record.reading_story import MeasuredQuantity

SAFETY_NOTE = (
    "The technician's own readings, compared with the limits named above. This record does "
    "not make a door safe and replaces neither local codes, nor the authority having "
    "jurisdiction, nor licensed practice."
)
_WIDTH = 88


def summary_text(summary: Summary) -> str:
    """The summary in lines of at most 88 characters."""
    parts = [
        f"{summary.reference}: {summary.opening}, {summary.site}",
        f"Technician {summary.technician}; {summary.began} to {summary.ended}",
        f"Procedure {summary.procedure}; limits {summary.limits}; model {summary.model}",
        "",
        textwrap.fill(summary.verdict, _WIDTH),
        *(textwrap.fill(sentence(leaf), _WIDTH) for leaf in summary.leaves),
        "",
        "Readings (as found -> as left)",
        *_readings(summary.lines),
        *_one_run(summary),
        *_section(
            "Timed by ear (± two standard uncertainties)", [_run(run) for run in summary.runs]
        ),
        *_section("Observed", [_fact(f.subject, f.name, f.value) for f in summary.facts]),
        *_section("Not OK", summary.not_in_order),
        *_section("Not as recommended", summary.not_as_recommended),
        *_section("Cautions given and answered", summary.cautions),
        *_section(
            "Skipped", [f"{s.key}: {s.reason or 'no reason heard'}" for s in summary.skipped]
        ),
        *_section(
            "Left open, with the word on it",
            [
                f"{each.what}: {each.word.replace('_', ' ')}{f' by {each.by}' if each.by else ''}"
                for each in summary.left_open
            ],
        ),
        *_section("Faults found", [each.line for each in summary.door_faults]),
        *_section("The old controller as found", summary.old_settings),
        *_section("The controller as it was set up", summary.set_up),
        *_section("Codes that it showed", summary.codes),
        *_section("Notes", summary.notes),
        *_section("Noted of the visit", summary.on_paper),
        *_section("Calibration", summary.calibration),
        *_photos(summary.photos),
        "",
        f"{counted(summary.utterances, 'utterance').capitalize()} heard, "
        f"{summary.not_understood} not understood; "
        f"{counted(summary.withdrawn, 'reading')} withdrawn.",
        *_by_the_office(summary),
        "",
        textwrap.fill(SAFETY_NOTE, _WIDTH),
    ]
    return "\n".join(parts) + "\n"


def _one_run(summary: Summary) -> list[str]:
    """The caveat about times with a single run, shown once."""
    told = one_run(found for line in summary.lines for found in line.findings)
    return [textwrap.fill(sentence(told), _WIDTH)] if told else []


def _photos(count: int) -> list[str]:
    return ["", f"Photos: {count}, in the folder pictures."] if count else []


def _by_the_office(summary: Summary) -> list[str]:
    if not (summary.amended or summary.struck):
        return []
    return [
        f"By the office: {counted(summary.amended, 'reading')} amended, {summary.struck} struck."
    ]


def _readings(lines: Sequence[MeasuredQuantity]) -> list[str]:
    rows: list[str] = []
    for line in lines:
        name = f"{line.subject}, {QUANTITIES[line.quantity].spoken}"
        value = _values(line.as_left)
        if line.attempts > 1:
            value = f"{_values(line.as_found)} -> {value}"
        unit = "" if line.unit == "1" else f" {line.unit}"
        by_sensor = "  by a sensor" if line.logs else ""
        rows.append(f"  {name:<37} {value}{unit}  {_ruling(line.findings)}{by_sensor}".rstrip())
        rows.extend(f"      {text}" for text in _doubts(line.findings))
    return rows


def _values(values: Sequence[Decimal]) -> str:
    return ", ".join(str(value) for value in values)


def _ruling(findings: Sequence[Finding]) -> str:
    verdict = ruling(findings)
    if verdict is not None:
        return str(verdict)
    advised = any(finding.verdict is Verdict.FAIL for finding in findings)
    return "not as recommended" if advised else ""


def _doubts(findings: Sequence[Finding]) -> list[str]:
    """The reasons of findings that do not pass, the caveats of passes, and every largest energy."""
    told = [
        f"{f.why} {f.advice} [{f.source}]" if f.verdict is not Verdict.PASS else f"But {f.note}."
        for f in findings
        if f.verdict is not Verdict.PASS or f.note
    ]
    told += [
        f"{f.why} [{f.source}]"
        for f in findings
        if f.verdict is Verdict.PASS and f.rule in MEASURED_RULES.values()
    ]
    return [line for text in told for line in textwrap.wrap(text, _WIDTH - 6)]


def _run(run: TimedRun) -> str:
    """'left leaf, run 1 of attempt 2 (000123.flac), filed. Times: ... Marks: ...'"""
    number = f"start {run.nth}" if run.run is None else f"run {run.run} of attempt {run.attempt}"
    parts = [f"{run.leaf}, {number} ({run.clip or 'no sound kept'}), {run.outcome}"]
    parts += [f": {'; '.join(run.problems)}"] if run.problems else []
    if run.times:
        times = (
            f"{_of_leaf(run, each.leaf)}{QUANTITIES[each.quantity].spoken}"
            f" {each.seconds:.2f} ± {2 * each.doubt_s:.2f} s"
            for each in run.times
        )
        parts.append(f". Times: {', '.join(times)}")
    if run.marks:
        parts.append(f". Marks: {', '.join(_mark(run, mark) for mark in run.marks)}")
    return "".join(parts) + "."


def _of_leaf(run: TimedRun, leaf: Subject | None) -> str:
    return f"{leaf} " if leaf and run.leaf is Subject.BOTH_LEAVES else ""


def _mark(run: TimedRun, mark: RunMark) -> str:
    name = _of_leaf(run, mark.leaf) + (mark.moment or "no moment")
    word = f" '{mark.word}'" if mark.word else ""
    clipped = " clipped" if mark.clipped else ""
    return f"{name}{word} {mark.at_s:.3f} ± {2 * mark.doubt_s:.3f} s{clipped}"


def _fact(subject: str, name: str, value: str) -> str:
    return f"{subject}: {name.replace('_', ' ')} {value.replace('_', ' ')}"


def _section(title: str, items: Sequence[str]) -> list[str]:
    if not items:
        return []
    wrapped = [
        textwrap.fill(item, _WIDTH, initial_indent="  ", subsequent_indent="    ") for item in items
    ]
    return ["", title, *wrapped]
