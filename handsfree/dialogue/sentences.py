"""Composes the texts of the conversation from the sentences of its language.

Every function takes the wording of the language first.
"""

from __future__ import annotations

from collections.abc import Sequence

from handsfree.job.finding import Binding, Finding, Verdict
from handsfree.job.job import Fact
from handsfree.job.quantity import QUANTITIES, Quantity
from handsfree.job.reading import Reading, Subject
from handsfree.job.unit import Measure
from handsfree.language.meaning import Word
from handsfree.language.wording import Wording, sentence
from handsfree.procedure.step import OwnWord, Step, Task

_OBSERVED = ("in_order", "not_in_order")

BAD_CASE: dict[OwnWord, str] = {"locked_out": "not_locked", "proved_dead": "still_live"}
"""The answer to a life-critical step if the word that ends it would be untrue."""

ALL = "all"
"""In place of names: every reading that was filed together."""

VERDICTS = {
    Verdict.PASS: "verdict_pass",
    Verdict.FAIL: "verdict_fail",
    Verdict.TOO_CLOSE: "verdict_too_close",
    Verdict.NOT_JUDGED: "verdict_not_judged",
}


def measure(w: Wording, value: Measure) -> str:
    """'six point two seconds'."""
    return w.measure(value.value, value.unit)


def readback(
    w: Wording,
    subjects: Sequence[Subject],
    which: Quantity,
    value: Measure,
    *,
    spelled: bool = False,
) -> str:
    """The readback of a value ('Left leaf, opening time, six point two seconds.')."""
    who = Subject.BOTH_LEAVES if len(subjects) > 1 else subjects[0]
    return sentence(w.reading(who, which, value.value, value.unit, spelled=spelled))


def read_reading(w: Wording, reading: Reading) -> str:
    """An accepted reading as it is read back on request."""
    return readback(w, (reading.subject,), reading.quantity, reading.measure)


def fact_readback(w: Wording, facts: Sequence[Fact], called: str, say: str) -> str:
    """The readback of facts ('Motor one, left leaf.'); several facts are one answer."""
    about = [w.subject(fact.subject) for fact in facts if fact.subject is not Subject.OPENING]
    who = f"{w.listed(about, 'and')}, " if about else ""
    return sentence(w.say("fact", about=who, name=called, value=say))


def items_readback(w: Wording, tasks: Sequence[Task], facts: Sequence[Fact]) -> str:
    """The readback of observations from one utterance: 'Hinges OK, arm OK'.

    A refusal comes first and names its subject: 'Left leaf, arm, not OK.' An observation that is OK
    for all its subjects is said once, without them.
    """
    named = {
        fact.name: task.step.called or fact.name.replace("_", " ")
        for fact in facts
        for task in tasks
        if task.step.fact == fact.name
    }
    bad, good, some = [], [], []
    for name, called in named.items():
        of_it = [fact for fact in facts if fact.name == name]
        ok = [fact for fact in of_it if fact.value == "in_order"]
        wrong = [fact for fact in of_it if fact.value == "not_in_order"]
        if wrong:
            bad.append(fact_readback(w, wrong, called, w.name("word", "not_in_order")))
        if len(ok) == sum(task.step.fact == name for task in tasks):
            good.append(w.say("item_ok", name=called, value=w.name("word", "in_order")))
        elif ok:
            some.append(fact_readback(w, ok, called, w.name("word", "in_order")))
    return " ".join([*bad, *some, *([sentence(", ".join(good))] if good else [])])


def implausible(w: Wording, which: Quantity, value: Measure, *, unit: bool = False) -> str:
    """The question about an implausible value with its usual range, or about its ``unit``."""
    facts = QUANTITIES[which]
    return w.say(
        "unit_in_doubt" if unit else "implausible",
        value=sentence(measure(w, value)),
        quantity=w.quantity(which),
        low=w.plain_measure(facts.low, facts.unit),
        high=w.plain_measure(facts.high, facts.unit),
    )


def waits_for(w: Wording, step: Step) -> str:
    """The shortest example of an answer to a step."""
    or_skip = w.say("or_skip") if step.may_skip else ""
    match step.waits:
        case "reading" if step.quantity is not None:
            return w.say("wait_reading", quantity=w.quantity(step.quantity), or_skip=or_skip)
        case "choice":
            options = w.listed([option.say for option in step.options])
            return w.say("wait_choice", options=options)
        case "observation":
            return w.say("wait_pass_or_fail" if step.is_pass_or_fail else "wait_observation")
        case "caution":
            return w.say("wait_caution", word=w.name("word", step.word or ""))
        case _ if step.own_word is not None:
            word, bad = own_words(w, step.own_word)
            return w.say("wait_own_word", word=word, bad=bad)
        case _:
            return w.say("wait_done", or_skip=or_skip)


def own_words(w: Wording, own_word: OwnWord) -> tuple[str, str]:
    """The word that ends a life-critical step, and its bad case."""
    return w.name("word", own_word), w.name("word", BAD_CASE[own_word])


def observed(w: Wording, step: Step) -> dict[str, str]:
    """The spoken values of an observation: OK, or 'pass' at a life-critical step."""
    names = ("pass", "fail") if step.is_pass_or_fail else ("in_order", "not_in_order")
    return {value: w.name("word", name) for value, name in zip(_OBSERVED, names, strict=True)}


def observation_words(w: Wording, step: Step) -> tuple[str, str]:
    """The two answers to an observation: 'yes' and 'no', or 'pass' and 'fail'."""
    good, bad = ("pass", "fail") if step.is_pass_or_fail else ("yes", "no")
    return w.name("word", good), w.name("word", bad)


def other_words(w: Wording, answers: Sequence[str], *, or_skip: str = "") -> str:
    """Other ways to give the answers, and the keyboard; '' if the language has none."""
    known = w.names["another"]
    others = [known[answer] for answer in answers if answer in known]
    if not others:
        return ""
    return w.say("other_words", words=w.listed(others), or_skip=or_skip)


def verdict(w: Wording, found: Finding, *, which: str = "") -> str:
    """The spoken form of a finding: one word for a pass, otherwise the reason; advice follows
    later.

    A pass with a note includes it: a run that fails, runs that differ. ``which`` names the readings
    for a pass or a missing verdict.
    """
    advised = found.binding is Binding.RECOMMENDATION
    name = "verdict_advice" if advised else VERDICTS[found.verdict]
    if which == ALL:
        head = w.say(f"{name}_all")
    else:
        head = w.say(f"{name}_of", which=which) if which else w.say(name)
    if found.verdict is Verdict.PASS:
        return " ".join([head, sentence(w.say("but", note=found.note))]) if found.note else head
    return " ".join(part for part in (head, sentence(found.why)) if part)


def which(w: Wording, readings: Sequence[Reading]) -> str:
    """'left leaf, opening time, closing time; right leaf, opening time'."""
    subjects = dict.fromkeys(reading.subject for reading in readings)
    of_each = []
    for subject in subjects:
        mine = dict.fromkeys(r.quantity for r in readings if r.subject is subject)
        of_each.append(", ".join([w.subject(subject), *map(w.quantity, mine)]))
    return "; ".join(of_each)


def adjust(w: Wording, step: Step, subject: Subject) -> str:
    """Says what to adjust before the next measurement."""
    what = (step.adjust or "").format(subject=w.subject(subject))
    return w.say("adjust", what=sentence(what))


def remaining(w: Wording, counts: Sequence[tuple[str, int]]) -> str:
    """The number of open steps, by stage."""
    total = sum(count for _, count in counts)
    if not total:
        return w.say("nothing_left")
    stages = ", ".join(f"{title} {count}" for title, count in counts if count)
    return sentence(w.say("remaining", count=total, stages=stages))


def short(w: Wording, found: Finding) -> str:
    """The name of a finding: 'left leaf, opening time'."""
    return f"{w.subject(found.subject)}, {w.name('rule', found.rule)}"


def defect(w: Wording, fact: Fact, called: str) -> str:
    """The name of an observation that is not OK: 'left leaf, swings freely'."""
    return f"{w.subject(fact.subject)}, {called}"


def task_name(w: Wording, task: Task) -> str:
    """A short name for a task: the quantity that it measures, or its brief prompt."""
    if task.step.quantity is not None:
        return f"{w.subject(task.subject)}, {w.quantity(task.step.quantity)}"
    return task.brief.rstrip(".?! ").lstrip("¿¡")


def readability(w: Wording, grade: int, snr_db: float | None) -> str:
    """The answer to 'how do you read', readability one to five."""
    spoken = w.digits(str(grade))
    if snr_db is None:
        return w.say("readability", grade=spoken)
    return w.say("readability_db", grade=spoken, db=round(snr_db))


def is_word(meaning: object, *kinds: str) -> bool:
    """True if an utterance is a word of one of these kinds."""
    return isinstance(meaning, Word) and meaning.kind in kinds
