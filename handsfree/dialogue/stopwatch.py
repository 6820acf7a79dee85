"""The stopwatch in the conversation: starting it, taking a cycle's times, another run or not."""

from __future__ import annotations

from decimal import Decimal

from handsfree.checks.evaluate import judge_reading
from handsfree.checks.measurement_uncertainty import TIMED_SD_S
from handsfree.dialogue import attempts, navigation, reading_intake
from handsfree.dialogue.pending import AskedRun, ClockLeaf, PendingClock, PendingReading
from handsfree.dialogue.state import CycleHeard, TimeCycle
from handsfree.dialogue.turn import Turn
from handsfree.job.finding import Verdict, ruling
from handsfree.job.job import leaf_side, leaves_of
from handsfree.job.quantity import QUANTITIES, Quantity
from handsfree.job.reading import Reading, Subject, Taken
from handsfree.job.unit import Unit
from handsfree.language.wording import sentence
from handsfree.timing.cycle import MOMENTS, SPANS, Cycle, Interval, Problem, cycle_of
from handsfree.timing.mark import MIN_GAP_S
from handsfree.timing.pair_cycle import pair_cycle_of

_HUNDREDTH, _THOUSANDTH = Decimal("0.01"), Decimal("0.001")


def start(turn: Turn, subject: Subject | None, *, together: bool = False) -> None:
    """'Start the clock, left leaf': says the marks to come, and listens for them.

    ``together``: both leaves in one cycle, the marks named.
    """
    if not turn.state.times_by_ear:
        turn.tell("no_clock", "answer")
        return
    leaves = leaves_of(turn.job)
    if subject is Subject.BOTH_LEAVES and together and len(leaves) > 1:
        run(turn, (subject,))
    elif subject is Subject.BOTH_LEAVES:
        run(turn, leaves)
    elif subject is not None and subject not in leaves:
        turn.tell("no_such", "repair", subject=turn.words.subject(subject))
    elif subject is not None:
        run(turn, (subject,))
    elif turn.task is not None and turn.task.subject in leaves:
        run(turn, (turn.task.subject,))
    elif len(leaves) == 1:
        run(turn, (leaves[0],))
    else:
        turn.wait_for(ClockLeaf())
        turn.tell("which_leaf", "repair")


def run(turn: Turn, leaves: tuple[Subject, ...]) -> None:
    """One cycle of the first leaf; the others follow."""
    w, leaf = turn.words, leaves[0]
    turn.wait_for(PendingClock(leaves=leaves))
    known = any(reading.taken is Taken.BY_EAR for reading in turn.job.readings)
    marks = "clock_marks_together" if leaf is Subject.BOTH_LEAVES else "clock_marks"
    spoken = w.say(
        "clock_again" if known and marks == "clock_marks" else marks,
        leaf=w.subject(leaf),
        run=w.digits(str(next_run(turn, leaf))),
        check=w.say("clock_check_eighty" if _past_eighty(turn, leaf) else "clock_check_backcheck"),
    )
    turn.say(sentence(spoken), "readback")
    turn.replies.append(TimeCycle(leaf=leaf))


def _past_eighty(turn: Turn, leaf: Subject) -> bool:
    """Whether the opening time ends at 80 degrees, because backcheck comes later."""
    side = leaf_side(leaf)
    known = turn.job.opening.leaf(side) if side is not None else None
    return known is not None and known.backcheck_after_eighty


def take(turn: Turn, pending: PendingClock, heard: CycleHeard) -> None:
    """What a run came to: its times are read back, or what is wrong with it is said."""
    if heard.cancelled:
        turn.wait_for(None)
        turn.tell("clock_dropped", "answer")
        navigation.prompt_again(turn)
        return
    leaf = pending.leaves[0]
    cycles, problems = _cycles(leaf, heard)
    wrong = next((problem for problem in problems if problem.kind != "misheard"), None)
    if wrong is not None:
        turn.wait_for(AskedRun(leaves=pending.leaves))
        told = [_problem(turn, wrong), turn.words.say("clock_run_again")]
        if wrong.kind == "extra" and all(mark.spoken is False for mark in heard.marks):
            told.insert(1, turn.words.say("clock_say_words"))
        turn.say(" ".join(told), "repair")
        return
    if any(mark.clipped for mark in heard.marks):
        turn.tell("clock_clipped", "finding")
    _tell_noise(turn, cycles)
    items = tuple(
        _item(leaf, interval, heard)
        for leaf, cycle in cycles.items()
        for interval in cycle.intervals
    )
    odd = next((i for i in items if not QUANTITIES[i.quantity].plausible(i.measure)), None)
    if odd is not None:
        turn.wait_for(AskedRun(leaves=pending.leaves))
        turn.say(f"{_implausible(turn, odd)} {turn.words.say('clock_run_again')}", "repair")
        return
    if problems:
        _tell_by_order(turn, problems)
    reading_intake.read_back(turn, items, leaves=pending.leaves)


def _tell_by_order(turn: Turn, problems: tuple[Problem, ...]) -> None:
    """Which words were not understood, before the times that their marks are in are read back."""
    w = turn.words
    words = [
        w.name("moment", moment.name.lower())
        if problem.leaf is None
        else f"{w.subject(problem.leaf)}, {w.name('moment', moment.name.lower())}"
        for problem in problems
        for moment in problem.moments
    ]
    told = w.say("clock_by_order", count=len(words), words=w.listed(words, "and"))
    turn.say(sentence(told), "repair")


def _tell_noise(turn: Turn, cycles: dict[Subject, Cycle]) -> None:
    """Says so where the noise leaves more open than the person does: two runs are as one then."""
    loosest_s = max(each.marks_s for cycle in cycles.values() for each in cycle.intervals)
    if loosest_s > TIMED_SD_S:
        w, open_s = turn.words, Decimal(repr(2 * loosest_s)).quantize(_HUNDREDTH)
        turn.tell("clock_noisy", "finding", open=w.measure(open_s, Unit.SECOND))


def _cycles(leaf: Subject, heard: CycleHeard) -> tuple[dict[Subject, Cycle], tuple[Problem, ...]]:
    """The cycle of each leaf that was timed, and what is wrong with them."""
    if leaf is not Subject.BOTH_LEAVES:
        cycle = cycle_of(heard.marks, heard.labels)
        return {leaf: cycle}, cycle.problems
    pair = pair_cycle_of(heard.marks, heard.labels, MIN_GAP_S)
    return dict(pair.cycles), pair.all_problems


def go_on(turn: Turn, items: tuple[PendingReading, ...], leaves: tuple[Subject, ...]) -> bool:
    """After a run was filed: another one where it should decide, or the next leaf.

    False where neither is due: a time that fails, or is so close to its limit that no run
    helps, has to be set first.
    """
    leaf = leaves[0]
    timed = [(item.quantity, subject) for item in items for subject in item.subjects]
    verdicts = [_verdict(turn, quantity, subject) for quantity, subject in timed]
    if Verdict.FAIL in verdicts:
        return False
    if any(attempts.helps(turn, quantity, subject) for quantity, subject in timed):
        turn.set(advice=())
        turn.wait_for(AskedRun(leaves=leaves))
        turn.tell("clock_another", "readback", run=turn.words.digits(str(next_run(turn, leaf))))
        return True
    if len(leaves) > 1 and Verdict.TOO_CLOSE not in verdicts:
        run(turn, leaves[1:])
        return True
    return False


def next_run(turn: Turn, leaf: Subject) -> int:
    """The number of the run that comes now."""
    leaves = leaves_of(turn.job) if leaf is Subject.BOTH_LEAVES else (leaf,)
    return max(
        attempts.number(turn, quantity, each, Taken.BY_EAR)[1]
        for quantity in SPANS
        for each in leaves
    )


def of_run(turn: Turn, number: int) -> tuple[Reading, ...]:
    """The readings of a run by ear of the leaf that was timed last, or of both in one cycle."""
    timed = [reading for reading in turn.job.readings if reading.taken is Taken.BY_EAR]
    if not timed:
        return ()
    mine = [r for r in timed if r.subject is timed[-1].subject and r.run == number]
    return tuple(r for r in timed if mine and r.run == number and r.clip == mine[-1].clip)


def _item(leaf: Subject, interval: Interval, heard: CycleHeard) -> PendingReading:
    return PendingReading(
        quantity=interval.quantity,
        subjects=(leaf,),
        value=Decimal(repr(interval.seconds)).quantize(_HUNDREDTH),
        unit=Unit.SECOND,
        taken=Taken.BY_EAR,
        clip=heard.clip,
        marks_s=Decimal(repr(interval.marks_s)).quantize(_THOUSANDTH),
    )


def _verdict(turn: Turn, quantity: Quantity, leaf: Subject) -> Verdict | None:
    last = turn.job.latest(quantity, leaf)
    return ruling(judge_reading(turn.job, turn.state.limits, last)) if last else None


def _implausible(turn: Turn, item: PendingReading) -> str:
    w, facts = turn.words, QUANTITIES[item.quantity]
    return w.say(
        "clock_implausible",
        reading=sentence(w.reading(None, item.quantity, item.value, item.unit)),
        low=w.measure(facts.low, facts.unit),
        high=w.measure(facts.high, facts.unit),
    )


def _problem(turn: Turn, problem: Problem) -> str:
    """What is wrong with a run, as a sentence; the leaf before it where it is known."""
    told = _told(turn, problem)
    return f"{sentence(turn.words.subject(problem.leaf))} {told}" if problem.leaf else told


def _told(turn: Turn, problem: Problem) -> str:
    w = turn.words
    if problem.kind in ("missing", "extra"):
        apart = abs(len(problem.moments) - len(problem.marks))
        return w.say(f"clock_{problem.kind}", count=apart, of=w.digits(str(len(MOMENTS))))
    return w.say(f"clock_{problem.kind.replace(' ', '_')}")
