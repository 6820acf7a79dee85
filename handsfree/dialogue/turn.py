"""One turn of the conversation under construction: the state and the replies so far.

A turn exists only within one call of the state machine. Every event passes through
:func:`handsfree.visit_record.progress.apply`, which also rebuilds a resumed visit.
"""

from __future__ import annotations

from collections.abc import Iterable

from handsfree.checks.evaluate import changed
from handsfree.controllers.guide import Guide
from handsfree.dialogue import grouped_steps, listed_values, sentences
from handsfree.dialogue.prompt_hints import prompt_help
from handsfree.dialogue.questions.question import Question
from handsfree.dialogue.state import Keep, Reply, Role, Say, State, Tone
from handsfree.job.finding import Binding, Finding, Verdict
from handsfree.job.job import Job
from handsfree.journal import events as ev
from handsfree.journal.paper_events import VisitFactKept
from handsfree.language.wording import Wording, sentence
from handsfree.procedure.step import Stage, Task
from handsfree.visit_record.progress import apply

# Spoken aloud even when tones replace most speech.
_ALWAYS_ALOUD = frozenset({"readback", "answer", "warning", "caution", "repair"})
_ACCEPTS = (
    *(ev.ReadingAccepted, ev.FactAccepted, ev.CautionAcknowledged, ev.StepEnded, ev.NoteKept),
    VisitFactKept,
)


class Turn:
    """Collects what the conversation keeps and says in answer to one input."""

    def __init__(self, state: State) -> None:
        self.state = state
        self.replies: list[Reply] = []

    @property
    def words(self) -> Wording:
        """The wording of the visit's language."""
        return self.state.words

    @property
    def job(self) -> Job:
        """The job in its present state."""
        return self.state.progress.job

    @property
    def task(self) -> Task | None:
        """The current task."""
        return self.state.task

    def set(self, **update: object) -> None:
        """Changes fields of the state."""
        self.state = self.state.model_copy(update=update)

    def wait_for(self, question: Question | None) -> None:
        """Makes a question the pending one; None drops it."""
        self.set(pending=question, misses=0)

    def ask(self, question: Question) -> None:
        """Asks a question, which then waits for its answer."""
        self.wait_for(question)
        question.repeat(self)

    def ask_again(self) -> bool:
        """Asks the pending question again; False if there is none."""
        question = self.state.pending
        if question is None:
            return False
        question.repeat(self)
        return True

    # --- replies

    def say(self, text: str, role: Role, *, asked: bool = False) -> None:
        """Speaks a text; at the tones-only level most texts are only written, unless ``asked``."""
        if not text:
            return
        silent = self.state.progress.level == "silent" and not asked
        if role in ("warning", "caution"):
            self.replies.append(Tone(sound="warning"))
        aloud = not silent or role in _ALWAYS_ALOUD
        self.replies.append(Say(text=text, role=role, aloud=aloud))

    def tell(self, name: str, role: Role, *, count: int | None = None, **values: object) -> None:
        """Speaks a sentence of the wording files by its name."""
        self.say(self.words.say(name, count=count, **values), role)

    def keep(self, body: ev.Body) -> None:
        """Appends an event and applies it to the state."""
        self.set(progress=apply(self.state.progress, body))
        self.replies.append(Keep(body=body))
        accepted = Tone(sound="accepted")
        if isinstance(body, _ACCEPTS) and accepted not in self.replies:
            self.replies.append(accepted)

    def judge_since(self, before: Job) -> tuple[Finding, ...]:
        """Keeps and returns the findings that have changed since ``before``."""
        found = changed(before, self.job, self.state.limits)
        if found:
            self.keep(ev.Judged(findings=found))
        return found

    def tell_finding(self, found: Finding, *, which: str = "") -> None:
        """Speaks a finding about ``which`` readings, and saves its advice for a pause."""
        spoken = sentences.verdict(self.words, found, which=which)
        self.say(spoken, "warning" if fails(found) else "finding")
        advice = sentence(found.advice)
        if advice and found.verdict is not Verdict.PASS and advice not in self.state.advice:
            self.set(advice=(*self.state.advice, advice))

    def warn_of(self, findings: Iterable[Finding]) -> None:
        """Speaks the findings through which earlier readings no longer pass."""
        for found in findings:
            if found.verdict is not Verdict.PASS:
                self.tell_finding(found)

    def advise(self) -> None:
        """Speaks the advice saved for a pause."""
        for advice in self.state.advice:
            self.say(advice, "advice")
        self.set(advice=())

    # --- the position in the visit

    def prompt(self, *, brief: bool = False, asked: bool = False) -> None:
        """Speaks the prompt of the current task; an open caution comes first."""
        task = self.task
        if task is None:
            return
        if self.caution_open:
            w, word = self.words, task.step.word or ""
            caution = (task.step.caution or "").format(subject=w.subject(task.subject))
            self.keep(ev.CautionGiven(key=task.key, text=caution, word=word))
            ask = task.prompt
            if task.step.waits != "caution":
                ask = w.say("wait_caution", word=w.name("word", word))
            self.say(w.say("caution", caution=caution, ask=ask), "caution")
        elif not self.led:
            if group := grouped_steps.group_at(self.state):
                text = grouped_steps.prompt(self.state, group, brief=brief)
                self.say(text, "prompt", asked=asked)
                return
            if listed := listed_values.listed_at(self.state):
                text = listed_values.prompt(self.state, listed, brief=brief)
                self.say(text, "prompt", asked=asked)
                return
            self.say(task.brief if brief else task.prompt, "prompt", asked=asked)
            if not brief:
                noted = self.state.progress.noted
                help_text = prompt_help(self.words, task, self.job.opening, noted)
                self.say(help_text, "prompt", asked=asked)

    @property
    def hint(self) -> str:
        """The shortest example of something that can be said now."""
        question = self.state.pending
        return self.step_hint if question is None else question.hint(self)

    @property
    def step_hint(self) -> str:
        """The shortest example of an answer to the current task; '' between tasks."""
        task, w = self.task, self.words
        if task is None or self.between:
            return ""
        if self.caution_open:
            return w.say("wait_caution", word=w.name("word", task.step.word or ""))
        if group := grouped_steps.group_at(self.state):
            return grouped_steps.hint(w, group)
        return sentences.waits_for(w, task.step)

    @property
    def caution_open(self) -> bool:
        """True if the caution of the current task is not acknowledged yet."""
        task = self.task
        return (
            task is not None
            and task.step.caution is not None
            and task.key not in self.state.progress.cautioned
        )

    @property
    def guide(self) -> Guide | None:
        """The guide of the controller, or None for a visit without one."""
        controller = self.state.procedure.controller
        return controller if isinstance(controller, Guide) else None

    @property
    def led(self) -> bool:
        """True if the controller's guide leads through the current task, entry by entry."""
        task = self.task
        if task is None or self.guide is None or self.between or self.caution_open:
            return False
        return task.step.guide in ("set_up", "learn")

    @property
    def between(self) -> bool:
        """True if no task is current: the last one is over, and the visit is closing."""
        return self.task is None or self.task.key in self.state.progress.ended

    def stage(self, task: Task) -> Stage:
        """The stage that a task belongs to."""
        return next(s for s in self.state.procedure.stages if s.id == task.step.stage)


def fails(finding: Finding) -> bool:
    """True if a requirement is violated; a recommendation decides nothing."""
    return finding.verdict is Verdict.FAIL and finding.binding is Binding.REQUIREMENT


def worst(verdicts: list[Verdict]) -> Verdict | None:
    """The worst of several verdicts, or None if nothing was judged."""
    order = (Verdict.FAIL, Verdict.TOO_CLOSE, Verdict.NOT_JUDGED, Verdict.PASS)
    return next((verdict for verdict in order if verdict in verdicts), None)
