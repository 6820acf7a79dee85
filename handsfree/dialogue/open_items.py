"""Open items of a visit: skipped steps, and findings and observations that are not OK."""

from __future__ import annotations

from typing import Literal

from handsfree.checks.evaluate import judge
from handsfree.checks.leaf_energy import CONTRADICTION
from handsfree.checks.limits import LimitSet
from handsfree.dialogue import sentences
from handsfree.job.finding import Binding, Finding, Verdict
from handsfree.job.job import Job
from handsfree.job.quantity import Quantity
from handsfree.job.record import Record
from handsfree.language.wording import Wording
from handsfree.procedure.step import Procedure, Stage, Task


class OpenItem(Record):
    """One item that the technician has to settle before the visit closes.

    ``key`` is the key of a skipped task, or the subject with the rule or fact that is not OK.
    ``what`` is its spoken name; ``quantity`` is that of the judged reading.
    """

    key: str
    kind: Literal["skipped", "wrong", "close", "unjudged", "uncured"]
    what: str
    quantity: Quantity | None = None


_KINDS: dict[Verdict, Literal["wrong", "close", "unjudged"]] = {
    Verdict.FAIL: "wrong",
    Verdict.TOO_CLOSE: "close",
    Verdict.NOT_JUDGED: "unjudged",
}


def out_of_order(
    w: Wording, job: Job, limits: LimitSet, procedure: Procedure, stage: Stage | None = None
) -> tuple[OpenItem, ...]:
    """Findings that fail, are too close to call or contradict each other, and observed defects.

    With a ``stage``, only those of its steps, without the ones too close to call.
    """
    steps = [step for step in procedure.steps if stage is None or step.stage == stage.id]
    asked = {step.fact: step.called or step.fact.replace("_", " ") for step in steps if step.fact}
    read = {step.quantity for step in steps if step.quantity}
    of_stage = {(r.quantity, r.subject) for r in job.readings if r.quantity in read}
    found = [
        OpenItem(
            key=f"{finding.subject}/{finding.rule}",
            kind=_KINDS[finding.verdict],
            what=sentences.short(w, finding),
            quantity=finding.quantity,
        )
        for finding in judge(job, limits, only=None if stage is None else of_stage)
        if _counts(finding)
    ]
    found += [
        OpenItem(
            key=f"{fact.subject}/{fact.name}",
            kind="wrong",
            what=sentences.defect(w, fact, asked.get(fact.name, fact.name.replace("_", " "))),
        )
        for fact in job.facts
        if fact.value == "not_in_order" and (stage is None or fact.name in asked)
    ]
    return tuple(found if stage is None else [item for item in found if item.kind == "wrong"])


def skipped(w: Wording, tasks: tuple[Task, ...], ended: dict[str, str]) -> tuple[OpenItem, ...]:
    """The tasks that were skipped."""
    return tuple(
        OpenItem(key=task.key, kind="skipped", what=sentences.task_name(w, task))
        for task in tasks
        if ended.get(task.key) == "skipped"
    )


def _counts(finding: Finding) -> bool:
    """True if the technician has to settle a finding before the visit closes.

    Of the findings without a verdict, only two contradictory readings count.
    """
    if finding.rule == CONTRADICTION:
        return True
    required = finding.binding is Binding.REQUIREMENT
    return required and finding.verdict in (Verdict.FAIL, Verdict.TOO_CLOSE)
