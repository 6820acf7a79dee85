"""Handles the result of a timed run: reads the times back, or says what is wrong."""

from __future__ import annotations

from decimal import Decimal

from handsfree.checks.measurement_uncertainty import TIMED_SD_S
from handsfree.dialogue import implicit_confirmation, navigation
from handsfree.dialogue.proposed_reading import ProposedReading
from handsfree.dialogue.questions.another_run import AnotherRunQuestion
from handsfree.dialogue.questions.readings import ReadingsQuestion
from handsfree.dialogue.state import CycleHeard
from handsfree.dialogue.turn import Turn
from handsfree.job.quantity import QUANTITIES
from handsfree.job.reading import Subject, Taken
from handsfree.job.unit import Unit
from handsfree.language.wording import sentence
from handsfree.timing.cycle import MOMENTS, Cycle, Interval, Problem, cycle_of
from handsfree.timing.mark import MIN_GAP_S
from handsfree.timing.pair_cycle import pair_cycle_of

_HUNDREDTH, _THOUSANDTH = Decimal("0.01"), Decimal("0.001")


def take(turn: Turn, heard: CycleHeard) -> None:
    """Reads the times of a run back, or says what is wrong with it.

    Ignores a run that nobody waited for.
    """
    question = turn.state.pending
    if question is None or not question.awaits_cycle:
        return
    leaves = question.timed_leaves
    if heard.cancelled:
        turn.wait_for(None)
        turn.tell("clock_dropped", "answer")
        navigation.prompt_again(turn)
        return
    cycles, problems = _cycles(leaves[0], heard)
    wrong = next((problem for problem in problems if problem.kind != "misheard"), None)
    if wrong is not None:
        spoken = [_problem(turn, wrong), turn.words.say("clock_run_again")]
        if wrong.kind == "extra" and all(mark.spoken is False for mark in heard.marks):
            spoken.insert(1, turn.words.say("clock_say_words"))
        _ask_run_again(turn, leaves, spoken)
        return
    if any(mark.clipped for mark in heard.marks):
        turn.tell("clock_clipped", "finding")
    _report_noise(turn, cycles)
    items = tuple(
        _item(leaf, interval, heard)
        for leaf, cycle in cycles.items()
        for interval in cycle.intervals
    )
    odd = next((i for i in items if not QUANTITIES[i.quantity].plausible(i.measure)), None)
    if odd is not None:
        spoken = [_implausible(turn, odd), turn.words.say("clock_run_again")]
        _ask_run_again(turn, leaves, spoken)
        return
    if problems:
        _report_words_not_understood(turn, problems)
    question = ReadingsQuestion(items=items, leaves=leaves)
    if problems:
        turn.ask(question)
    else:
        implicit_confirmation.put(turn, question)


def _ask_run_again(turn: Turn, leaves: tuple[Subject, ...], spoken: list[str]) -> None:
    turn.wait_for(AnotherRunQuestion(leaves=leaves))
    turn.say(" ".join(spoken), "repair")


def _report_words_not_understood(turn: Turn, problems: tuple[Problem, ...]) -> None:
    """Names the words at marks that were placed only by their order."""
    w = turn.words
    words = [
        w.name("moment", moment.name.lower())
        if problem.leaf is None
        else f"{w.subject(problem.leaf)}, {w.name('moment', moment.name.lower())}"
        for problem in problems
        for moment in problem.moments
    ]
    spoken = w.say("clock_by_order", count=len(words), words=w.listed(words, "and"))
    turn.say(sentence(spoken), "repair")


def _report_noise(turn: Turn, cycles: dict[Subject, Cycle]) -> None:
    """Says how much two runs may differ, if noise adds more to that than the person does."""
    loosest_s = max(each.marks_s for cycle in cycles.values() for each in cycle.intervals)
    if loosest_s > TIMED_SD_S:
        w, open_s = turn.words, Decimal(repr(2 * loosest_s)).quantize(_HUNDREDTH)
        turn.tell("clock_noisy", "finding", open=w.measure(open_s, Unit.SECOND))


def _cycles(leaf: Subject, heard: CycleHeard) -> tuple[dict[Subject, Cycle], tuple[Problem, ...]]:
    """The cycle of each timed leaf, and the problems found in them."""
    if leaf is not Subject.BOTH_LEAVES:
        cycle = cycle_of(heard.marks, heard.labels)
        return {leaf: cycle}, cycle.problems
    pair = pair_cycle_of(heard.marks, heard.labels, MIN_GAP_S)
    return dict(pair.cycles), pair.all_problems


def _item(leaf: Subject, interval: Interval, heard: CycleHeard) -> ProposedReading:
    return ProposedReading(
        quantity=interval.quantity,
        subjects=(leaf,),
        value=Decimal(repr(interval.seconds)).quantize(_HUNDREDTH),
        unit=Unit.SECOND,
        taken=Taken.BY_EAR,
        clip=heard.clip,
        marks_s=Decimal(repr(interval.marks_s)).quantize(_THOUSANDTH),
    )


def _implausible(turn: Turn, item: ProposedReading) -> str:
    w, facts = turn.words, QUANTITIES[item.quantity]
    return w.say(
        "clock_implausible",
        reading=sentence(w.reading(None, item.quantity, item.value, item.unit)),
        low=w.plain_measure(facts.low, facts.unit),
        high=w.plain_measure(facts.high, facts.unit),
    )


def _problem(turn: Turn, problem: Problem) -> str:
    """A problem of a run as a sentence, after the name of its leaf if that is known."""
    spoken = _problem_alone(turn, problem)
    return f"{sentence(turn.words.subject(problem.leaf))} {spoken}" if problem.leaf else spoken


def _problem_alone(turn: Turn, problem: Problem) -> str:
    w = turn.words
    if problem.kind in ("missing", "extra"):
        apart = abs(len(problem.moments) - len(problem.marks))
        return w.say(f"clock_{problem.kind}", count=apart, of=w.digits(str(len(MOMENTS))))
    return w.say(f"clock_{problem.kind.replace(' ', '_')}")
