"""What the office decides before it signs: what is not in order or not proven, and was skipped."""

from __future__ import annotations

from handsfree.checks.leaf_energy import CONTRADICTION
from handsfree.job.finding import Binding, Finding, Verdict
from handsfree.job.quantity import QUANTITIES
from handsfree.journal import events as ev
from handsfree.journal import office_events as office
from handsfree.reports.current_findings import InForce
from handsfree.reports.dossier_parts import Decision, Matter
from handsfree.reports.fold_facts import Facts
from handsfree.reports.office_text import step_words, with_unit, words_of


class Matters:
    """Collects skipped steps, the technician's words and the office's decisions, in order.

    A matter that an amendment has settled is none any more, whatever the word on it was. One
    that was judged or told anew after the office decided on it wants a new decision.
    """

    def __init__(self) -> None:
        self._skipped: dict[str, ev.StepEnded] = {}
        self._words: dict[str, str] = {}
        self._decisions: dict[str, Decision] = {}
        self._heard = 0
        self._reason_in: dict[str, int] = {}
        self._typed_up: dict[int, str] = {}

    def take(self, event: ev.Event) -> None:
        """Follows one event."""
        match event.body:
            case ev.Heard():
                self._heard = event.seq
            case ev.TypedUp(heard=heard, text=text):
                self._typed_up[heard] = text
            case ev.StepEntered(key=key):
                self._skipped.pop(key, None)
                self._words.pop(key, None)
            case ev.StepEnded(key=key) as ended:
                self._skipped.pop(key, None)
                if ended.outcome == "skipped":
                    self._skipped[key] = ended
                    self._reason_in[key] = self._heard
            case ev.OpenSettled(key=key, word=word):
                self._words[key] = word
            case ev.Judged(findings=findings):
                for found in findings:
                    self._decisions.pop(f"{found.subject}/{found.rule}", None)
            case office.FactAmended(subject=subject, name=name):
                self._decisions.pop(f"{subject}/{name}", None)
            case office.OpenDecided(key=key, decision=decision, by=by, why=why):
                self._decisions[key] = Decision(
                    seq=event.seq, at=event.at, by=by, why=why, decision=decision
                )

    def all(self, in_force: InForce, facts: Facts) -> tuple[Matter, ...]:
        """Everything to decide: not in order first, then too close, then skipped."""
        wrong: dict[str, Matter] = {}
        close: dict[str, Matter] = {}
        for key in in_force.measured():
            for found in in_force.on_last_attempt(key):
                if found.binding is not Binding.REQUIREMENT:
                    continue
                if found.rule == CONTRADICTION:
                    name = f"{found.subject}/{found.rule}"
                    close[name] = self._matter(name, "not judged", found.why)
                if found.verdict is Verdict.FAIL:
                    name = f"{found.subject}/{found.rule}"
                    wrong[name] = self._matter(name, "not in order", finding_words(found))
                elif found.verdict is Verdict.TOO_CLOSE:
                    name = f"{found.subject}/{found.rule}"
                    close[name] = self._matter(name, "too close", finding_words(found))
        for item in facts.all():
            if item.value == "not_in_order":
                name = f"{item.subject}/{item.name}"
                what = f"{item.subject}: {words_of(item.name)}, not in order"
                wrong[name] = self._matter(name, "not in order", what)
        skipped = [
            self._matter(key, "skipped", step_words(key)).model_copy(
                update={
                    "reason": ended.reason,
                    "reason_clip": ended.reason_clip,
                    "reason_typed_up": self._typed_up.get(self._reason_in[key], ""),
                }
            )
            for key, ended in self._skipped.items()
        ]
        left = [matter for name, matter in close.items() if name not in wrong]
        return (*wrong.values(), *left, *skipped)

    def _matter(self, key: str, kind: str, what: str) -> Matter:
        return Matter.model_validate(
            {
                "key": key,
                "kind": kind,
                "what": what,
                "word": self._words.get(key),
                "decision": self._decisions.get(key),
            }
        )


def finding_words(found: Finding) -> str:
    """'left leaf: opening time 2.5 s, at least 3.5 s', as short as that."""
    what = QUANTITIES[found.quantity].spoken if found.quantity else words_of(found.rule)
    rule = words_of(found.rule)
    name = rule if what in rule or not what else f"{what}, {rule}"
    name = what if rule == what else name
    if found.reading is None:
        return f"{found.subject}: {name}"
    limit = "" if found.limit is None else f", {found.bound} {with_unit(found.limit, found.unit)}"
    return f"{found.subject}: {name} {with_unit(found.reading, found.unit, found.limit)}{limit}"
