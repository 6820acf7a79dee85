"""The outcome of a rehearsed visit: does its record match the technician's intentions and the
door?

The truth comes from the door's equations without scatter, in the door's state at the latest
measurement of a quantity. Energies come directly from the equations, not from the checks.
"""

from __future__ import annotations

import math
from decimal import Decimal
from functools import cache
from typing import Literal

from handsfree.checks.evaluate import judge
from handsfree.checks.leaf_energy import BEYOND
from handsfree.checks.leaf_energy import RULES as ENERGY_RULES
from handsfree.checks.limits import load_limits
from handsfree.checks.measured_energy import MEASURED_RULES
from handsfree.job.finding import Binding, Finding, Verdict
from handsfree.job.quantity import Quantity
from handsfree.job.reading import Reading, Subject, Taken
from handsfree.job.record import Record
from handsfree.job.unit import Unit, convert
from handsfree.journal import events as ev
from handsfree.journal.motion_events import LeafMeasured
from handsfree.procedure.step import Procedure
from handsfree.rehearsal.cycle import Cycle, Obstacle
from handsfree.rehearsal.drive import Drive, Phase
from handsfree.rehearsal.faults import is_found
from handsfree.rehearsal.leaf_body import Body
from handsfree.rehearsal.leaf_motion import run_cycle
from handsfree.rehearsal.phrasing import IntendedReading
from handsfree.rehearsal.rehearsal import Rehearsal
from handsfree.rehearsal.technician_memory import NEAR_DEG, NEAR_S
from handsfree.visit_record.progress import Progress

_TRAVEL_RAD = math.radians(80)

VerdictTruth = Literal["right", "wrong", "undecided", "in the band"]


class VerdictCheck(Record):
    """A verdict of the tool next to the truth, both in ``unit``.

    ``held`` is 'in the band' if the truth is closer to the limit than the guard band.
    """

    subject: Subject
    rule: str
    verdict: Verdict
    truth: float
    limit: float
    band: float
    unit: str
    held: VerdictTruth


class ControllerLeft(Record):
    """The state in which the visit left a simulated controller.

    ``wrong`` lists the entries in effect that differ from the guide's for this door, ``made`` the
    mistakes made on the way.
    """

    guide: str
    wrong: tuple[str, ...]
    learned: bool
    made: tuple[str, ...]


class Outcome(Record):
    """One visit in numbers.

    ``wrong`` readings are in the job but were not meant by the technician; ``ever_wrong`` also
    counts those accepted and taken back. ``repairs`` counts the utterances that had to be repeated,
    ``again`` those among them that were not understood, ``misses`` all utterances that were not
    understood. ``over_peak`` lists leaves whose peak energy at the latest measurement exceeds the
    limit although every verdict on their times is a pass. ``controller`` is the controller that was
    set up by its guide, or None. ``logs`` counts the logs read from a phone on a leaf,
    ``logs_refused`` those not used.

    ``answers`` counts the other answers valid at the close (choices, observations, finished work,
    cautions), ``answers_wrong`` those that the technician did not mean. ``taken_back`` counts
    answers refused at the readback or withdrawn later. ``implicit`` counts readings, choices and
    observations accepted by the next answer, ``explicit`` those accepted by 'affirm';
    ``turned_explicit`` counts how often the tool switched by itself to asking for 'affirm' at every
    answer.
    """

    closed: bool
    minutes: float
    utterances: int
    said_to_tool: int
    repairs: int
    misses: int
    again: tuple[str, ...] = ()
    slips: int
    readings: int
    wrong: tuple[str, ...]
    ever_wrong: int
    faults_found: tuple[str, ...]
    faults_missed: tuple[str, ...]
    judged: tuple[VerdictCheck, ...]
    over_peak: tuple[Subject, ...]
    hears_badly: int
    skipped: int
    controller: ControllerLeft | None = None
    logs: int = 0
    logs_refused: int = 0
    answers: int = 0
    answers_wrong: tuple[str, ...] = ()
    taken_back: int = 0
    implicit: int = 0
    explicit: int = 0
    turned_explicit: int = 0

    def held(self, held: VerdictTruth) -> int:
        """Number of verdicts with this relation to the truth."""
        return sum(one.held == held for one in self.judged)


def outcome_of(rehearsal: Rehearsal, progress: Progress, events: tuple[ev.Event, ...]) -> Outcome:
    """Compares a visit's journal with the technician's intentions and with the door."""
    technician, job = rehearsal.technician, progress.job
    accepted = [e.body.reading for e in events if isinstance(e.body, ev.ReadingAccepted)]
    logs = [e.body for e in events if isinstance(e.body, LeafMeasured)]
    faults = rehearsal.door.spec.faults
    judged = _judged(rehearsal, progress)
    badly = rehearsal.language.wording.sentences.get("hear_badly", "\0")
    start = str(badly).split("{")[0]
    counted = [e.body for e in events if isinstance(e.body, ev.ReadingAccepted | ev.FactAccepted)]
    withdrawn = [isinstance(e.body, ev.ReadingWithdrawn | ev.FactWithdrawn) for e in events]
    answers = _answers(rehearsal.procedure, progress)
    return Outcome(
        closed=progress.closed,
        minutes=rehearsal.clock.now_s / 60,
        utterances=len(technician.lines),
        said_to_tool=sum(line.to_tool for line in technician.lines),
        repairs=technician.repairs,
        misses=sum(isinstance(e.body, ev.Heard) and e.body.meaning is None for e in events),
        again=tuple(technician.again),
        slips=technician.slips,
        readings=len(job.readings),
        wrong=tuple(
            f"{r.subject}, {r.quantity}: {r.measure}"
            for r in job.readings
            if not is_meant(r, technician.meant)
        ),
        ever_wrong=sum(not is_meant(reading, technician.meant) for reading in accepted),
        faults_found=tuple(fault.name for fault in faults if is_found(fault, events, job)),
        faults_missed=tuple(fault.name for fault in faults if not is_found(fault, events, job)),
        judged=judged,
        over_peak=_over_peak(rehearsal, judged),
        hears_badly=sum(
            isinstance(e.body, ev.Said) and e.body.text.startswith(start) for e in events
        ),
        controller=_controller_left(rehearsal),
        logs=len(logs),
        logs_refused=sum(bool(log.problem or log.flags) for log in logs),
        skipped=sum(outcome == "skipped" for outcome in progress.ended.values()),
        answers=len(answers),
        answers_wrong=tuple(
            f"{subject}, {step}: {answer}"
            for (step, subject), answer in answers.items()
            if technician.answered.get((step, subject)) != answer
        ),
        taken_back=technician.taken_back + sum(withdrawn),
        implicit=sum(body.how == "implicit" for body in counted),
        explicit=sum(body.how == "explicit" for body in counted),
        turned_explicit=sum(
            isinstance(e.body, ev.ConfirmSet) and e.body.confirm == "every" for e in events
        ),
    )


def _answers(procedure: Procedure, progress: Progress) -> dict[tuple[str, Subject], str]:
    """The answers other than readings that count at the close, by step and subject."""
    steps = {step.id: step for step in procedure.steps}
    found = {}
    for key, outcome in progress.ended.items():
        name, _, subject = key.partition(":")
        step, about = steps.get(name), Subject(subject) if subject else Subject.OPENING
        if step is None or outcome != "done":
            continue
        answer = {"done": "done", "caution": "clear"}.get(step.waits)
        if step.fact is not None:
            answer = progress.job.fact(about, step.fact)
        if answer is not None:
            found[name, about] = answer
    return found


def _controller_left(rehearsal: Rehearsal) -> ControllerLeft | None:
    at = rehearsal.technician.at_controller
    if at is None:
        return None
    return ControllerLeft(
        guide=at.controller.guide.name,
        wrong=tuple(sorted(at.controller.wrong)),
        learned=at.controller.learned,
        made=tuple(at.hands.made),
    )


def is_meant(reading: Reading, meant: list[IntendedReading]) -> bool:
    """True if the technician meant a reading."""
    within = Decimal(0)
    if reading.taken in (Taken.BY_EAR, Taken.SENSOR):
        within = NEAR_DEG if reading.unit is Unit.DEGREE else NEAR_S
    return any(
        one.quantity is reading.quantity
        and one.subject is reading.subject
        and one.unit is reading.unit
        and abs(one.value - reading.value) <= within
        for one in meant
    )


def _judged(rehearsal: Rehearsal, progress: Progress) -> tuple[VerdictCheck, ...]:
    limits = load_limits(rehearsal.door.spec.sheet.limits)
    out = []
    for finding in judge(progress.job, limits):
        truth = _truth(rehearsal, finding)
        decided = finding.verdict is not Verdict.NOT_JUDGED
        if truth is None or not decided or finding.binding is not Binding.REQUIREMENT:
            continue
        limit, band = float(finding.limit or 0), float(finding.guard_band or 0)
        out.append(
            VerdictCheck(
                subject=finding.subject,
                rule=finding.rule,
                verdict=finding.verdict,
                truth=truth,
                limit=limit,
                band=band,
                unit=finding.unit,
                held=_held(finding, truth, limit, band),
            )
        )
    return tuple(out)


def _held(finding: Finding, truth: float, limit: float, band: float) -> VerdictTruth:
    beyond = limit - truth if finding.bound == "at least" else truth - limit
    if abs(beyond) <= band:
        return "in the band"
    if finding.verdict is Verdict.TOO_CLOSE:
        return "undecided"
    return "right" if (finding.verdict is Verdict.FAIL) is (beyond > 0) else "wrong"


def _truth(rehearsal: Rehearsal, finding: Finding) -> float | None:
    """The true value of a finding's quantity, in the finding's unit."""
    if finding.quantity is None:
        return None
    then = rehearsal.technician.hands.measured.get((finding.quantity, finding.subject))
    if then is None:
        return None
    body, drive = then
    cycle = true_cycle(body, drive)
    if finding.rule in ENERGY_RULES.values():
        return _mean_energy(body, drive, cycle, finding)
    if finding.rule in MEASURED_RULES.values():
        opens = finding.quantity is Quantity.OPENING_TIME
        peak = Decimal(repr(cycle.opening_peak_j if opens else cycle.closing_peak_j))
        return float(convert(peak, Unit.JOULE, Unit(finding.unit)))
    if finding.quantity in (Quantity.OPENING_FORCE, Quantity.CLOSING_FORCE):
        phase: Phase = "opening" if finding.quantity is Quantity.OPENING_FORCE else "closing"
        newtons = Decimal(repr(_stall_n(body, drive, phase)))
        return float(convert(newtons, Unit.NEWTON, Unit(finding.unit)))
    value: float | None = getattr(cycle, f"{finding.quantity}_s", None)
    return value


def _mean_energy(body: Body, drive: Drive, cycle: Cycle, finding: Finding) -> float | None:
    """Energy at the mean speed, as the limit is stated: half the inertia times its square."""
    to_backcheck = min(drive.backcheck_rad, _TRAVEL_RAD)
    time_s: float | None
    if finding.rule == BEYOND:
        if cycle.total_opening_time_s is None or cycle.opening_time_s is None:
            return None
        time_s = cycle.total_opening_time_s - cycle.opening_time_s
        angle = body.open_rad - to_backcheck
    elif finding.quantity is Quantity.OPENING_TIME:
        time_s, angle = cycle.opening_time_s, to_backcheck
    else:
        time_s, angle = cycle.closing_time_s, _TRAVEL_RAD
    if time_s is None:
        return None
    joules = Decimal(repr(body.energy_j(angle / time_s)))
    return float(convert(joules, Unit.JOULE, Unit(finding.unit)))


def _over_peak(rehearsal: Rehearsal, judged: tuple[VerdictCheck, ...]) -> tuple[Subject, ...]:
    limits = load_limits(rehearsal.door.spec.sheet.limits).limit.energy
    most_j = float(convert(limits.value, limits.unit, Unit.JOULE))
    over = []
    for (quantity, subject), (body, drive) in rehearsal.technician.hands.measured.items():
        rules = ("opening time", "opening energy", MEASURED_RULES[Quantity.OPENING_TIME])
        mine = [one for one in judged if one.subject is subject and one.rule in rules]
        passed = bool(mine) and all(one.verdict is Verdict.PASS for one in mine)
        if quantity is Quantity.OPENING_TIME and passed:
            over += [subject] if true_cycle(body, drive).opening_peak_j > most_j else []
    return tuple(over)


@cache
def true_cycle(body: Body, drive: Drive) -> Cycle:
    """The cycle of a leaf without scatter."""
    return run_cycle(body, drive)


@cache
def _stall_n(body: Body, drive: Drive, phase: Phase) -> float:
    at = min(0.5 * body.open_rad, math.radians(40))
    return run_cycle(body, drive, obstacle=Obstacle(at_rad=at, phase=phase)).push_n
