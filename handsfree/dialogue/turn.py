"""One turn of the conversation under construction: state so far, replies so far.

A turn is made and used up inside one call of the machine; nothing outside sees it.
Every event goes through :func:`handsfree.dialogue.progress.apply`, the same fold that
rebuilds a resumed visit.
"""

from __future__ import annotations

from collections.abc import Iterable

from handsfree.checks.judge import changed, judge
from handsfree.dialogue import wording
from handsfree.dialogue.progress import apply
from handsfree.dialogue.state import Keep, Pending, Reply, Role, Say, State
from handsfree.job.finding import Binding, Finding, Verdict
from handsfree.job.job import Job
from handsfree.journal import events as ev
from handsfree.procedure.step import Task


class Turn:
    """Collects what the conversation keeps and says in answer to one input."""

    def __init__(self, state: State) -> None:
        self.state = state
        self.replies: list[Reply] = []

    @property
    def job(self) -> Job:
        """The job as it is now."""
        return self.state.progress.job

    @property
    def task(self) -> Task | None:
        """The task at hand."""
        return self.state.task

    def set(self, **update: object) -> None:
        """Changes fields of the state."""
        self.state = self.state.model_copy(update=update)

    def wait_for(self, pending: Pending | None) -> None:
        """What the next answer is about."""
        self.set(pending=pending, misses=0)

    def say(self, text: str, role: Role) -> None:
        """Speaks."""
        if text:
            self.replies.append(Say(text=text, role=role))

    def keep(self, body: ev.Body) -> None:
        """Appends an event and follows it."""
        self.set(progress=apply(self.state.progress, body))
        self.replies.append(Keep(body=body))

    def judge_since(self, before: Job) -> tuple[Finding, ...]:
        """Keeps and returns the findings that are not as they were with the job ``before``."""
        found = changed(before, self.job, self.state.limits)
        if found:
            self.keep(ev.Judged(findings=found))
        return found

    def warn_of(self, findings: Iterable[Finding]) -> None:
        """Says which earlier readings do not pass any more."""
        for found in findings:
            if found.verdict is not Verdict.PASS:
                self.say(wording.finding(found), "warning" if fails(found) else "finding")

    # --- moving through the tasks

    def enter(self, task: Task) -> None:
        """Goes to a task and says its prompt, in brief when its step was said before."""
        brief = task.step.id in self.state.progress.introduced
        self.keep(ev.StepEntered(key=task.key))
        self.wait_for(None)
        self.prompt(brief=brief)

    def prompt(self, *, brief: bool = False) -> None:
        """Says what the task at hand asks for; an open caution comes first."""
        task = self.task
        if task is None:
            return
        if self.caution_open:
            caution = (task.step.caution or "").format(subject=task.subject)
            word = task.step.word or ""
            self.keep(ev.CautionGiven(key=task.key, text=caution, word=word))
            ask = task.prompt if task.step.waits == "caution" else wording.wants_caution_word(word)
            self.say(f"Caution. {caution} {ask}", "caution")
        else:
            self.say(task.brief if brief else task.prompt, "prompt")

    @property
    def caution_open(self) -> bool:
        """Whether the task at hand has a caution that was not acknowledged yet."""
        task = self.task
        return (
            task is not None
            and task.step.caution is not None
            and task.key not in self.state.progress.cautioned
        )

    def end(self, outcome: str, reason: str | None = None, clip: str | None = None) -> None:
        """Ends the task at hand and goes on to the next one."""
        task = self.task
        if task is not None:
            self.keep(
                ev.StepEnded.model_validate(
                    {"key": task.key, "outcome": outcome, "reason": reason, "reason_clip": clip}
                )
            )
        self.go_on()

    def go_on(self) -> None:
        """Enters the next task that is not over, or closes the visit."""
        following = self._next_open()
        if following is None:
            self._close()
        else:
            self.enter(following)

    def back(self) -> None:
        """Enters the task before the one at hand again."""
        keys = [task.key for task in self.state.tasks]
        at = self.state.progress.at
        index = keys.index(at) if at in keys else len(keys)
        if index == 0:
            self.say(wording.FIRST_STEP, "answer")
            self.prompt(brief=True)
        else:
            self.enter(self.state.tasks[index - 1])

    def _next_open(self) -> Task | None:
        progress = self.state.progress
        keys = [task.key for task in self.state.tasks]
        start = keys.index(progress.at) + 1 if progress.at in keys else 0
        in_order = self.state.tasks[start:] + self.state.tasks[:start]
        return next((task for task in in_order if task.key not in progress.ended), None)

    def _close(self) -> None:
        self.wait_for(None)
        findings = judge(self.job, self.state.limits)
        wrong = [wording.short(f) for f in findings if fails(f)]
        wrong += [wording.defect(fact) for fact in self.job.facts if fact.value == "not_in_order"]
        close = [
            wording.short(f)
            for f in findings
            if f.verdict is Verdict.TOO_CLOSE and f.binding is Binding.REQUIREMENT
        ]
        skipped = sum(end == "skipped" for end in self.state.progress.ended.values())
        self.say(wording.closing(wrong, close, skipped, judged=bool(findings)), "status")
        self.keep(ev.VisitClosed())


def fails(finding: Finding) -> bool:
    """Whether a requirement is not kept; a recommendation rules nothing."""
    return finding.verdict is Verdict.FAIL and finding.binding is Binding.REQUIREMENT


def worst(verdicts: list[Verdict]) -> Verdict | None:
    """The verdict that rules among several, or None where nothing was judged."""
    order = (Verdict.FAIL, Verdict.TOO_CLOSE, Verdict.NOT_JUDGED, Verdict.PASS)
    return next((verdict for verdict in order if verdict in verdicts), None)
