"""Numbers the attempts and runs of readings, and tells whether another run would help."""

from __future__ import annotations

from handsfree.checks.evaluate import judge_reading
from handsfree.checks.leaf_energy import BEYOND
from handsfree.checks.leaf_energy import RULES as ENERGY_RULES
from handsfree.checks.measured_energy import MEASURED_RULES
from handsfree.checks.measurement_uncertainty import (
    MOST_RUNS,
    Bound,
    runs_to_decide,
    uncertainty_of,
)
from handsfree.dialogue.turn import Turn
from handsfree.job.finding import Binding, Finding, Verdict
from handsfree.job.quantity import Quantity
from handsfree.job.reading import Subject, Taken
from handsfree.job.unit import Unit
from handsfree.timing.cycle import SPANS

_WHOLE_CYCLE = (Taken.BY_EAR, Taken.SENSOR)
"""Ways to take a time that give all times of a cycle at once."""


def number(
    turn: Turn,
    quantity: Quantity,
    subject: Subject,
    taken: Taken,
    log: str | None = None,
    cycles: int = 1,
    adjusted: bool = False,
) -> tuple[int, int]:
    """Returns the attempt number and the run number of the next reading.

    A reading that is too close to call gets another run if that can decide it. So does a time by
    ear or by a sensor that does not fail, because each run takes all five times, and a time from
    the same ``log``, which holds ``cycles`` runs. Any other reading starts a new attempt: something
    was adjusted. The times of one log all become runs, or all start a new attempt. So do the times
    of a run by ear: ``adjusted`` is True if a time of the leaf had to be adjusted before it. An
    angle by a sensor is another run after an angle that was read by eye, unless that one fails.
    """
    before = turn.job.latest(quantity, subject)
    if before is None:
        return 1, 1
    if log is not None and before.log == log:
        return before.attempt, before.run + 1
    again = _is_run(turn, quantity, subject, taken)
    if log is not None and quantity in SPANS:
        again = again and _logged_again(turn, subject, log)
    elif taken is Taken.BY_EAR:
        again = again and not adjusted
    if again and before.run + cycles <= MOST_RUNS:
        return before.attempt, before.run + 1
    return before.attempt + 1, 1


def adjusted_before(turn: Turn, subject: Subject) -> bool:
    """True if a time of the leaf has to be adjusted before the cycle is timed by ear again."""
    known = (turn.job.latest(quantity, subject) for quantity in SPANS)
    return any(adjust_first(turn, each.quantity, subject) for each in known if each is not None)


def adjust_first(turn: Turn, quantity: Quantity, subject: Subject) -> bool:
    """True if a reading fails, or is too close to call and no further run would decide it."""
    found = _required(turn, quantity, subject)
    if any(finding.verdict is Verdict.FAIL for finding in found):
        return True
    return any(_too_close(finding) for finding in found) and not helps(turn, quantity, subject)


def _is_run(turn: Turn, quantity: Quantity, subject: Subject, taken: Taken) -> bool:
    """True if the next reading repeats a measurement of the unchanged door."""
    before = turn.job.latest(quantity, subject)
    found = _required(turn, quantity, subject)
    same_way = before is not None and (before.taken is taken or quantity not in SPANS)
    whole = same_way and taken in _WHOLE_CYCLE
    decided = not any(_too_close(finding) for finding in found)
    fails = any(finding.verdict is Verdict.FAIL for finding in found)
    return helps(turn, quantity, subject) or (whole and decided and not fails)


def _logged_again(turn: Turn, subject: Subject, log: str) -> bool:
    """True if a log repeats a measurement of the unchanged door: no earlier time asked for an
    adjustment.
    """
    earlier = [turn.job.latest(quantity, subject) for quantity in SPANS]
    of_log = next((each for each in earlier if each is not None and each.log == log), None)
    if of_log is not None:
        return of_log.run > 1
    known = [each for each in earlier if each is not None]
    return all(_is_run(turn, each.quantity, subject, Taken.SENSOR) for each in known)


def helps(turn: Turn, quantity: Quantity, subject: Subject) -> bool:
    """True if another run should decide a reading that is too close to call.

    False if a requirement fails, or if even the last allowed run would not decide: then the door is
    adjusted first.
    """
    runs = turn.job.runs(quantity, subject)
    found = _required(turn, quantity, subject)
    close = [finding for finding in found if _too_close(finding)]
    if not close or len(runs) >= MOST_RUNS or any(f.verdict is Verdict.FAIL for f in found):
        return False
    if any(finding.rule == BEYOND for finding in close):
        # This takes another run of both times, which a stopwatch does not give.
        return all(run.taken in _WHOLE_CYCLE for run in runs)
    if any(finding.rule in MEASURED_RULES.values() for finding in close):
        return False  # the unknown is the leaf's weight, not its speed
    # The energy is judged by its time and decided along with it.
    of_reading = [finding for finding in close if finding.rule not in ENERGY_RULES.values()]
    return all(_decides(turn, finding, subject) for finding in of_reading)


def _decides(turn: Turn, found: Finding, subject: Subject) -> bool:
    if found.quantity is None or found.limit is None:
        return False
    unit = Unit(found.unit)
    bound: Bound = "at least" if found.bound == "at least" else "at most"
    doubt = uncertainty_of(turn.job.runs(found.quantity, subject), unit)
    return bool(runs_to_decide(doubt, found.limit, bound))


def _required(turn: Turn, quantity: Quantity, subject: Subject) -> list[Finding]:
    last = turn.job.latest(quantity, subject)
    judged = judge_reading(turn.job, turn.state.limits, last) if last is not None else ()
    return [found for found in judged if found.binding is Binding.REQUIREMENT]


def _too_close(finding: Finding) -> bool:
    return finding.verdict is Verdict.TOO_CLOSE
