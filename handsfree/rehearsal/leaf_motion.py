"""Simulates one cycle of a leaf step by step: its moments, speeds and energies.

Fourth-order Runge-Kutta with a fixed step; moments within a step are interpolated linearly. Every
cycle ends after ``MOST_S`` at the latest.
"""

from __future__ import annotations

import math

from handsfree.rehearsal.cycle import Cycle, CycleEnd, Obstacle
from handsfree.rehearsal.drive import Drive, Phase, State, slope
from handsfree.rehearsal.leaf_body import Body

STEP_S = 0.01
"""Integration step (s). Times agree within 10 ms with those of a step a twentieth as long; that is
a tenth of a person's scatter.
"""
TRACE_EVERY = 5
"""Steps between two points of a trace."""
MOST_S = 90.0
"""Longest cycle without its hold-open time, which is added (s)."""
BEGINS_RAD = math.radians(0.1)
"""Angle at which an observer sees the leaf move (rad)."""
OPEN_RAD = math.radians(0.5)
"""Distance from the stop at which the leaf counts as fully open (rad)."""
SHUT_RAD = math.radians(0.2)
TEN_RAD, EIGHTY_RAD, NINETY_RAD = (math.radians(deg) for deg in (10.0, 80.0, 90.0))
STALL_S = 1.2
"""Time without motion after which the drive gives up (s)."""
_STALL_RAD_S = math.radians(0.4)
_SEEN_AT_RAD = math.radians(20)
_STOPPED_S = 3.0


def run_cycle(
    body: Body,
    drive: Drive,
    *,
    obstacle: Obstacle | None = None,
    sensor: bool = True,
    step_s: float = STEP_S,
    trace_every: int = TRACE_EVERY,
) -> Cycle:
    """Opens, holds and shuts the leaf once, with every ``trace_every``-th step in its trace."""
    return _Run(body, drive, obstacle, sensor, step_s, trace_every).cycle()


class _Run:
    """A cycle in progress."""

    def __init__(
        self,
        body: Body,
        drive: Drive,
        obstacle: Obstacle | None,
        sensor: bool,
        step_s: float,
        trace_every: int,
    ) -> None:
        self._trace_every = trace_every
        self._body, self._drive, self._obstacle, self._step_s = body, drive, obstacle, step_s
        self._sensor = sensor
        self._phase: Phase = "opening"
        self._state: State = (0.0, 0.0, 0.0, 0.0)
        self._t_s = 0.0
        self._held_s = 0.0
        self._slow_s = 0.0
        self._moments: dict[str, float] = {}
        self._found: dict[str, float] = {}
        self._reopened = 0
        self._by_sensor = False
        self._pushes: list[float] = []
        self._blow_n = 0.0
        self._trace: list[tuple[float, float]] = [(0.0, 0.0)]
        self._backcheck_rad = min(drive.backcheck_rad, EIGHTY_RAD)

    def cycle(self) -> Cycle:
        end: CycleEnd | None = None
        for nth in range(math.ceil(MOST_S / self._step_s)):
            end = self._step()
            if nth % self._trace_every == 0:
                self._note()
            if end is not None:
                break
        self._note()
        seen = self._found
        return Cycle(
            end=end or "out of time",
            **self._moments,
            widest_deg=math.degrees(seen.get("widest", 0.0)),
            opening_peak_rad_s=seen.get("opening", 0.0),
            closing_peak_rad_s=seen.get("closing", 0.0),
            opening_peak_j=self._body.energy_j(seen.get("opening", 0.0)),
            closing_peak_j=self._body.energy_j(seen.get("closing", 0.0)),
            reopened=self._reopened,
            by_sensor=self._by_sensor,
            push_n=_steady(self._pushes),
            blow_n=self._blow_n,
            trace=tuple(self._trace),
        )

    @property
    def _now_s(self) -> float:
        return self._t_s + self._held_s

    def _note(self) -> None:
        self._trace.append((round(self._now_s, 4), math.degrees(self._state[0])))

    def _step(self) -> CycleEnd | None:
        before = self._state
        after = self._stopped(self._advanced(before))
        self._state = after
        self._t_s += self._step_s
        self._watch(before, after)
        self._feel(after)
        if self._phase == "opening":
            return self._while_opening(after)
        return self._while_closing(after)

    def _advanced(self, state: State) -> State:
        """Advances the state by one Runge-Kutta step."""
        h = self._step_s
        one = self._slope(state)
        two = self._slope(_moved(state, one, h / 2))
        three = self._slope(_moved(state, two, h / 2))
        four = self._slope(_moved(state, three, h))
        a, b, c, d = (
            at + h / 6 * (k1 + 2 * k2 + 2 * k3 + k4)
            for at, k1, k2, k3, k4 in zip(state, one, two, three, four, strict=True)
        )
        return a, b, c, d

    def _slope(self, state: State) -> State:
        contact = 0.0
        if self._obstacle is not None:
            contact = self._obstacle.push_nm(self._body, self._phase, state[0], state[1])
        return slope(self._body, self._drive, self._phase, state, contact)

    def _stopped(self, state: State) -> State:
        """Limits the leaf to the range between frame and stop."""
        theta, omega, wanted, integral = state
        if theta <= 0.0:
            return 0.0, max(omega, 0.0), wanted, integral
        if theta >= self._body.open_rad:
            return self._body.open_rad, min(omega, 0.0), wanted, integral
        return state

    def _watch(self, before: State, after: State) -> None:
        """Updates the peaks and the moments passed in this step."""
        phase, speed = self._phase, abs(after[1])
        self._found[phase] = max(self._found.get(phase, 0.0), speed)
        self._found["widest"] = max(self._found.get("widest", 0.0), after[0])
        if phase == "opening":
            self._passed("starts_s", before, after, BEGINS_RAD, first=True)
            self._passed("backcheck_s", before, after, self._backcheck_rad, first=True)
            self._passed("open_s", before, after, self._body.open_rad - OPEN_RAD)
        else:
            limit = min(NINETY_RAD, self._body.open_rad - OPEN_RAD)
            self._passed("ninety_s", before, after, limit)
            self._passed("closes_s", before, after, self._body.open_rad - OPEN_RAD)
            self._passed("ten_s", before, after, TEN_RAD)
            self._passed("shut_s", before, after, SHUT_RAD)

    def _passed(
        self, name: str, before: State, after: State, at: float, *, first: bool = False
    ) -> None:
        """Stores the time of passing an angle; a later pass overwrites it unless ``first``."""
        rising = self._phase == "opening"
        one, two = (before[0], after[0]) if rising else (-before[0], -after[0])
        edge = at if rising else -at
        if one < edge <= two and not (first and name in self._moments):
            share = (edge - one) / (two - one)
            self._moments[name] = self._now_s - self._step_s * (1 - share)

    def _feel(self, state: State) -> None:
        if self._obstacle is None:
            return
        push = self._obstacle.push_nm(self._body, self._phase, state[0], state[1])
        if push:
            force = abs(push) / self._body.gauge_m
            self._blow_n = max(self._blow_n, force)
            self._pushes.append(force)

    def _stalls(self, state: State) -> bool:
        slow = abs(state[1]) < _STALL_RAD_S
        self._slow_s = self._slow_s + self._step_s if slow else 0.0
        return self._slow_s >= STALL_S

    def _sees(self, state: State) -> bool:
        """True if a working sensor sees the obstacle ahead of the leaf."""
        way = self._obstacle
        if way is None or not way.seen or not self._sensor or way.phase != self._phase:
            return False
        return 0.0 <= abs(way.at_rad - state[0]) <= _SEEN_AT_RAD

    def _while_opening(self, state: State) -> CycleEnd | None:
        if state[0] >= self._body.open_rad - OPEN_RAD:
            # It creeps to its stop and rests there until the time is up.
            self._state = (self._body.open_rad, 0.0, 0.0, 0.0)
            self._close_after(self._drive.hold_s)
            return None
        if self._sees(state):
            self._by_sensor = True
            self._close_after(_STOPPED_S)
        elif self._stalls(state):
            if state[0] < BEGINS_RAD:
                return "did not open"
            self._close_after(self._drive.hold_s)
        return None

    def _close_after(self, hold_s: float) -> None:
        self._note()
        self._held_s += hold_s
        self._phase, self._slow_s = "closing", 0.0
        self._state = (self._state[0], 0.0, 0.0, 0.0)
        self._note()

    def _while_closing(self, state: State) -> CycleEnd | None:
        if state[0] <= SHUT_RAD:
            return "shut"
        sees = self._sees(state)
        if sees or self._stalls(state):
            self._by_sensor = self._by_sensor or sees
            if self._reopened >= 1:
                return "did not shut"
            self._reopened += 1
            self._phase, self._slow_s = "opening", 0.0
            self._state = (state[0], 0.0, 0.0, 0.0)
            self._note()
        return None


def _moved(state: State, change: State, h: float) -> State:
    return (
        state[0] + h * change[0],
        state[1] + h * change[1],
        state[2] + h * change[2],
        state[3] + h * change[3],
    )


def _steady(pushes: list[float]) -> float:
    """Force after the leaf has come to rest: the mean of the last third of a second (N)."""
    last = pushes[-max(1, round(0.33 / STEP_S)) :]
    return sum(last) / len(last) if last else 0.0
