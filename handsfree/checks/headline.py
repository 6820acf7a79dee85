"""The result of a check in one line ('22 of 22 checks pass; not checked: fire release.').

Conversation, summary, report and record show the same line.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence

from handsfree.checks.scope import SCOPE
from handsfree.job.finding import Binding, Finding, Verdict, ruling
from handsfree.job.record import Record
from handsfree.language.wording import Wording, sentence

MOST_NAMED = 4
"""Largest number of unchecked items that are named; if there are more, only the first and a
count.
"""


class Tally(Record):
    """The number of checks, how many pass, and the names of those that do not.

    A check is one required rule on one subject (both sides of a range are one), or one observation.
    ``outside`` says why a door is not judged at all; '' for a judged door.
    """

    passed: int
    total: int
    wrong: tuple[str, ...] = ()
    close: tuple[str, ...] = ()
    unjudged: tuple[str, ...] = ()
    advised: tuple[str, ...] = ()
    not_checked: tuple[str, ...] = ()
    outside: str = ""


def tally(
    findings: Iterable[Finding],
    name: Callable[[Finding], str],
    *,
    in_order: int = 0,
    defects: Sequence[str] = (),
    not_checked: Sequence[str] = (),
) -> Tally:
    """Counts findings and observations: how many pass (``in_order``), and the ``defects`` by
    name.
    """
    findings = tuple(findings)
    by_rule: dict[tuple[str, str], list[Finding]] = {}
    for found in findings:
        if found.binding is Binding.REQUIREMENT and found.rule != SCOPE:
            by_rule.setdefault((found.subject, found.rule), []).append(found)
    ruled = {key: ruling(mine) for key, mine in by_rule.items()}

    def named(verdict: Verdict) -> list[str]:
        return [name(by_rule[key][0]) for key, each in ruled.items() if each is verdict]

    passed = sum(each is Verdict.PASS for each in ruled.values())
    advised = [
        name(found)
        for found in findings
        if found.binding is Binding.RECOMMENDATION and found.verdict is Verdict.FAIL
    ]
    return Tally(
        passed=passed + in_order,
        total=len(ruled) + in_order + len(defects),
        wrong=_once([*named(Verdict.FAIL), *defects]),
        close=_once(named(Verdict.TOO_CLOSE)),
        unjudged=_once(named(Verdict.NOT_JUDGED)),
        advised=_once(advised),
        not_checked=_once(not_checked),
        outside=next((found.why for found in findings if found.rule == SCOPE), ""),
    )


def headline(w: Wording, counted: Tally) -> str:
    """The result in one line; what does not pass comes first."""
    if counted.outside:
        return w.say("head_unjudged", what=counted.outside)
    parts = []
    if counted.wrong:
        parts.append(w.say("head_wrong", what="; ".join(counted.wrong)))
    if counted.close:
        parts.append(w.say("head_close", what="; ".join(counted.close)))
    if counted.unjudged:
        parts.append(w.say("head_unjudged", what="; ".join(counted.unjudged)))
    said = [w.say("head_count", count=counted.total, passed=counted.passed, total=counted.total)]
    if not counted.total:
        said = [w.say("head_nothing")]
    if counted.not_checked:
        said.append(w.say("head_unchecked", what=_some(w, counted.not_checked)))
    parts.append(sentence("; ".join(said)))
    if counted.advised:
        parts.append(w.say("head_advised", what="; ".join(counted.advised)))
    return " ".join(parts)


def _some(w: Wording, names: tuple[str, ...]) -> str:
    if len(names) <= MOST_NAMED:
        return "; ".join(names)
    return w.say("head_more", shown=names[0], more=len(names) - 1)


def _once(names: Iterable[str]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(names))
