"""Measures a leaf by sensor: has its log read, and reads the results back."""

from __future__ import annotations

from decimal import Decimal

from handsfree.checks.measurement_uncertainty import MOST_RUNS
from handsfree.dialogue import navigation
from handsfree.dialogue.proposed_reading import ProposedReading
from handsfree.dialogue.questions.leaf_log import LeafLogQuestion
from handsfree.dialogue.questions.measured_leaf import MeasuredLeafQuestion
from handsfree.dialogue.questions.readings import ReadingsQuestion
from handsfree.dialogue.turn import Turn
from handsfree.job.job import leaves_of
from handsfree.job.quantity import QUANTITIES, Quantity
from handsfree.job.reading import LargestSpeed, Subject, Taken
from handsfree.job.unit import Unit
from handsfree.journal.motion_events import LeafMeasured, MeasuredCycle

_TIMED_BY = {"opening": Quantity.OPENING_TIME, "closing": Quantity.CLOSING_TIME}
"""The time whose reading carries the largest speed of a movement."""
_FLAGGED = {
    "phone slipped": "log_phone_slipped",
    "uneven speed": "log_uneven_speed",
    "stopped on the way": "log_stopped_on_the_way",
    "turned back": "log_turned_back",
    "did not close": "log_did_not_close",
    "did not open": "log_did_not_open",
}


def start(turn: Turn, subject: Subject | None, open_angle_deg: Decimal | None = None) -> None:
    """Starts 'measure the left leaf': has the newest log in the visit's folder read.

    ``open_angle_deg`` is the fully open angle measured with a square (degrees), if it was said.
    """
    leaves = leaves_of(turn.job)
    if subject is Subject.BOTH_LEAVES:
        turn.tell("log_one_leaf", "repair")
    elif subject is not None and subject not in leaves:
        turn.tell("no_such", "repair", subject=turn.words.subject(subject))
    elif subject is not None:
        turn.ask(LeafLogQuestion(leaf=subject, open_angle_deg=open_angle_deg))
    elif turn.task is not None and turn.task.subject in leaves:
        turn.ask(LeafLogQuestion(leaf=turn.task.subject, open_angle_deg=open_angle_deg))
    elif len(leaves) == 1:
        turn.ask(LeafLogQuestion(leaf=leaves[0], open_angle_deg=open_angle_deg))
    else:
        turn.ask(MeasuredLeafQuestion(open_angle_deg=open_angle_deg))


def take(turn: Turn, measured: LeafMeasured) -> None:
    """Reads back what a log shows, or says why it is not used.

    Ignores a log that nobody waited for.
    """
    if not isinstance(turn.state.pending, LeafLogQuestion):
        return
    items = tuple(_items(measured))
    flags = dict.fromkeys(flag for cycle in measured.measured for flag in cycle.flags)
    odd = next((i for i in items if not QUANTITIES[i.quantity].plausible(i.measure)), None)
    if measured.problem:
        _refuse(turn, "log_refused")
        turn.tell(f"log_{measured.fault or 'unreadable'}", "repair")
    elif measured.log is None:
        _refuse(turn, "log_none")
    elif measured.cycles > MOST_RUNS:
        _refuse(turn, "log_cycles", count=measured.cycles)
    elif flags:
        for flag in flags:
            _refuse(turn, _FLAGGED[flag])
        turn.tell("log_not_filed", "repair")
    elif odd is not None or not items:
        _refuse(turn, "log_implausible")
    else:
        turn.ask(ReadingsQuestion(items=items))
        return
    if turn.between:
        navigation.go_on(turn)


def _refuse(turn: Turn, name: str, count: int | None = None) -> None:
    turn.wait_for(None)
    turn.tell(name, "repair", count=count)


def _items(measured: LeafMeasured) -> list[ProposedReading]:
    return [item for cycle in measured.measured for item in _of_cycle(measured, cycle)]


def _of_cycle(measured: LeafMeasured, cycle: MeasuredCycle) -> list[ProposedReading]:
    speeds = {
        _TIMED_BY[each.travel]: LargestSpeed(deg_s=each.deg_s, at_deg=each.at_deg, share=each.share)
        for each in cycle.speeds
    }
    found = [
        _proposed(measured, each.quantity, each.seconds, Unit.SECOND).model_copy(
            update={"marks_s": each.uncertainty_s, "largest_speed": speeds.get(each.quantity)}
        )
        for each in cycle.times
    ]
    if (angle := cycle.backcheck) is not None:
        proposed = _proposed(measured, Quantity.BACKCHECK_ANGLE, angle.degrees, Unit.DEGREE)
        found.append(proposed.model_copy(update={"angle_sd_deg": angle.uncertainty_deg}))
    return found


def _proposed(
    measured: LeafMeasured, quantity: Quantity, value: Decimal, unit: Unit
) -> ProposedReading:
    return ProposedReading(
        quantity=quantity,
        subjects=(measured.leaf,),
        value=value,
        unit=unit,
        taken=Taken.SENSOR,
        clip=None,
        log=measured.log,
        cycles=measured.cycles,
    )
