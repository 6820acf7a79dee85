"""Commands of a person at the simulated door, each with a printed answer.

They begin with a period, so that none is taken for words to the tool.
"""

from __future__ import annotations

from collections.abc import Callable
from random import Random

from handsfree.job.opening import Side
from handsfree.job.quantity import Quantity
from handsfree.job.reading import LEAF_SUBJECT, Subject
from handsfree.rehearsal import observations
from handsfree.rehearsal.cycle import Cycle
from handsfree.rehearsal.door import Door
from handsfree.rehearsal.door_spec import FACES, PLATES
from handsfree.rehearsal.measurements import MeasuringTools
from handsfree.rehearsal.operator import SETTING_NAMES
from handsfree.toml_source import nearest

MARK = "."
HELP = (
    ".press        press the left plate and watch (.press right for the other)",
    ".look         hinges, push or pull, lock, swing, plates, signs, motors",
    ".tape         sizes and weights from tape, scale and label",
    ".gauge left   forces on a leaf: stopped opening and closing, and by hand",
    ".swing left   swing a leaf by hand, with the power off",
    ".board        hold a board in the way of the moving door",
    ".settings     the controller's settings",
    ".set left opening_speed 7",
    ".mend         repair what you found: .mend leaf binds",
    ".help         show these lines",
)
Watch = Callable[[dict[Side, Cycle]], None]


class DoorCommands:
    """Runs commands at one door; ``watch`` shows a cycle of all leaves as it happens."""

    def __init__(self, door: Door, seed: int, watch: Watch) -> None:
        self._door, self._watch = door, watch
        self.hands = MeasuringTools(door, Random(f"person {seed}"))
        self.mended: list[str] = []

    def command(self, line: str) -> list[str]:
        """Runs a line that begins with a period and returns the lines to print."""
        verb, *rest = line.removeprefix(MARK).split()[:8] or ["help"]
        match verb:
            case "press":
                return self._press(rest)
            case "look":
                return self._look()
            case "tape":
                return self._tape()
            case "gauge":
                return self._gauge(self._side(rest))
            case "swing":
                return self._swing(self._side(rest))
            case "board":
                return self._board()
            case "settings":
                return self._settings()
            case "set":
                return self._set(rest)
            case "mend":
                return self._mend(" ".join(rest))
            case "help":
                return list(HELP)
        verbs = [known.split()[0].removeprefix(MARK) for known in HELP]
        return [f"The door has no command '.{verb}' ({nearest(verb, verbs)})."]

    def _side(self, rest: list[str]) -> Side:
        named = next((side for side in self._door.sides if side in rest), None)
        return named or self._door.sides[0]

    def _press(self, rest: list[str]) -> list[str]:
        plate = PLATES[1] if "right" in rest else PLATES[0]
        if not self._door.plate_works(plate):
            return [f"You press the {plate}. Nothing moves."]
        cycles = {side: self._door.cycle(side) for side in self._door.sides}
        for side in cycles:
            for quantity in Quantity:
                self.hands.remember(quantity, LEAF_SUBJECT[side])
        self._watch(cycles)
        return [self._ended(side, cycle) for side, cycle in cycles.items()]

    def _ended(self, side: Side, cycle: Cycle) -> str:
        said = {
            "shut": "is shut again",
            "did not open": "does not move",
            "did not shut": "stays open",
            "out of time": "is still moving",
        }[cycle.end]
        jump = " It jumped at the start." if self._door.has("hard ramp", LEAF_SUBJECT[side]) else ""
        return f"The {LEAF_SUBJECT[side]} {said}.{jump}"

    def _look(self) -> list[str]:
        spec, door = self._door.spec, self._door
        lines = [f"Swing: {str(spec.swing).replace('_', ' ')}. Held shut by: {spec.lock}."]
        for side, leaf in spec.leaves.items():
            angle = door.settings[door.channel(side)]["backcheck_angle"]
            lines.append(
                f"The {LEAF_SUBJECT[side]}: hinges {leaf.hinge_side}, {leaf.action}; slows down at "
                f"{angle} degrees by the protractor."
            )
        motors = (Subject.MOTOR_ONE, Subject.MOTOR_TWO)[: len(door.sides)]
        lines += [
            f"{str(motor).capitalize()}: on the {observations.leaf_of_motor(door, motor)} leaf, "
            f"stamped {observations.hand_of_motor(door, motor)} hand."
            for motor in motors
        ]
        return lines

    def _tape(self) -> list[str]:
        spec = self._door.spec
        lines = [
            f"The {LEAF_SUBJECT[side]}: {leaf.width} wide, {leaf.height} high, {leaf.weight} "
            f"by {leaf.weight_source}."
            for side, leaf in spec.leaves.items()
        ]
        lines += [
            f"The {p}: {spec.plate_height[p]} high, {spec.plate_distance[p]} from the door."
            for p in PLATES
        ]
        return [*lines, *(f"The sign on the {f}: {spec.sign_height[f]} high." for f in FACES)]

    def _gauge(self, side: Side) -> list[str]:
        named = (
            ("stopped while it opens", Quantity.OPENING_FORCE),
            ("stopped while it closes", Quantity.CLOSING_FORCE),
            ("to free the latch", Quantity.RELEASE_FORCE),
            ("to set it in motion", Quantity.SET_IN_MOTION_FORCE),
            ("to open it fully", Quantity.OPEN_FULLY_FORCE),
        )
        read = [
            (words, self.hands.measure(quantity, LEAF_SUBJECT[side])) for words, quantity in named
        ]
        return [f"{words}: {meant.value} {meant.unit}" for words, meant in read if meant]

    def _swing(self, side: Side) -> list[str]:
        binds = self._door.has("leaf binds", LEAF_SUBJECT[side])
        how = "binds halfway" if binds else "moves freely"
        return [f"The {LEAF_SUBJECT[side]} {how}. Its arm is straight and tight."]

    def _board(self) -> list[str]:
        acts = [self._door.sensor_acts(side) for side in self._door.sides]
        return ["It stops and reopens." if all(acts) else "It pushes against the board."]

    def _settings(self) -> list[str]:
        return [
            f"{side}: " + ", ".join(f"{name} {at}" for name, at in settings.items())
            for side, settings in self._door.settings.items()
        ]

    def _set(self, rest: list[str]) -> list[str]:
        if len(rest) != 3 or rest[0] not in self._door.sides or not rest[2].isdigit():
            return ["Name a leaf, a setting and a number: .set left opening_speed 7"]
        name = next((known for known in SETTING_NAMES if known == rest[1]), None)
        if name is None:
            return [f"There is no setting '{rest[1]}' ({nearest(rest[1], SETTING_NAMES)})."]
        at = self._door.set(Side(rest[0]), name, int(rest[2]))
        return [f"{rest[0]} leaf, {name}: {at}"]

    def _mend(self, name: str) -> list[str]:
        """Repairs an existing fault; counts the attempts, so that guessing shows."""
        self.mended.append(name)
        if not self._door.has(name):
            return [f"'{name}' is not wrong with this door, or it is a matter of settings."]
        self._door.repair(name)
        return ["Repaired."]
