"""The simulated technician's memory: the current question, the readings, the intended words.

Only the tool's spoken words change it.
"""

from __future__ import annotations

from decimal import Decimal
from random import Random

from pydantic import Field

from handsfree.controllers.guide import Guide
from handsfree.job.quantity import Quantity
from handsfree.job.reading import Subject
from handsfree.job.record import Record
from handsfree.job.unit import Unit
from handsfree.language.wording import Wording
from handsfree.procedure.step import Procedure, Step
from handsfree.rehearsal.at_controller import AtController
from handsfree.rehearsal.door import Door
from handsfree.rehearsal.leaf_logs import LeafLogs
from handsfree.rehearsal.measurements import SETTING_OF, MeasuringTools
from handsfree.rehearsal.phrasing import IntendedReading
from handsfree.rehearsal.prompt_comprehension import PromptListener, ReadBackHeard, UnderstoodPrompt
from handsfree.rehearsal.replies import ASKS, DOUBTED, REPEAT, TO_QUESTIONS
from handsfree.rehearsal.setting_adjustment import ReadingHistory, adjust
from handsfree.rehearsal.technician_profile import TechnicianProfile

NEAR_S = Decimal("0.4")
"""Largest difference between a time by ear or by a sensor and the technician's own marks (s)."""
NEAR_DEG = Decimal(3)
"""Largest difference between an angle by a sensor and the technician's protractor (degrees)."""
_GOES_ON = ("prompt", "caution", "position", "group")
_WHICH = ("two_heard", "one_of_two", "which_value")
ALL_GOOD = ("all good", "yes")
"""Good answers to a question for several steps."""
MOST_FAILED = 2
"""Failed timed cycles after which the technician uses a stopwatch."""


class SpokenLine(Record):
    """The next utterance, its speaker, and the time before it (s).

    ``to_tool`` is true if it is addressed to the tool, ``asks`` if it is a question rather than an
    answer, ``typed`` if it is typed, as the tool requested.
    """

    text: str
    who: str = "technician"
    after_s: float = 0.6
    to_tool: bool = True
    asks: bool = False
    typed: bool = False


class Question(Record):
    """The question that the technician believes to be open."""

    kind: str
    step: Step | None = None
    subject: Subject | None = None
    readings: tuple[ReadBackHeard, ...] = ()
    values: dict[str, str] = Field(default_factory=dict)


class SaidBack(Record):
    """The intention behind the answer that was echoed with the last prompt, and its step."""

    at: tuple[Step, Subject] | None
    mind: tuple[IntendedReading, ...]
    fact: tuple[str, str] | None
    group: tuple[tuple[Step, Subject], ...] | None = None


class TechnicianMemory:
    """Follows a visit by ear. ``can_time`` is true if the tool can hear marks."""

    def __init__(
        self,
        door: Door,
        procedure: Procedure,
        words: Wording,
        manner: TechnicianProfile,
        seed: int = 0,
        *,
        can_time: bool = False,
    ) -> None:
        self.door = door
        self.meant: list[IntendedReading] = []
        """Every intended reading, for comparison with the record."""
        self.answered: dict[tuple[str, Subject], str] = {}
        """Last intended answer by step and subject: 'done', 'clear', or the value of the fact."""
        self.lines: list[SpokenLine] = []
        self.seen_faults: list[str] = []
        self.turned: list[tuple[Subject, str, int, int]] = []
        self.over = False
        self.repairs = 0
        """Number of repetitions of an utterance that was right the first time."""
        self.again: list[str] = []
        """Utterances that the tool did not understand or misheard."""
        self.slips = 0
        """Number of wrong values said by mistake."""
        self.taken_back = 0
        """Number of answers refused after being said back with the next prompt."""
        self._random = Random(f"technician {seed}")
        guide, hands = procedure.controller, Random(f"controller {seed}")
        self.at_controller: AtController | None = None
        """Hands at the controller, if the visit has its guide."""
        if isinstance(guide, Guide):
            self.at_controller = AtController(guide, door, words, hands, manner.at_controller)
        self.hands = MeasuringTools(door, Random(f"hands {seed}"))
        self._listener = PromptListener(words, procedure, door.spec.sheet.opening)
        self._manner, self._can_time = manner, can_time
        self._others: dict[str, str] = words.names["another"]
        self._heard: list[str] = []
        self._unanswered: tuple[str, ...] = ()
        self._memory = ReadingHistory()
        self._question: Question | None = None
        self._at: tuple[Step, Subject] | None = None
        self._group: tuple[tuple[Step, Subject], ...] | None = None
        self._mind: tuple[IntendedReading, ...] = ()
        self._fact: tuple[str, str] | None = None
        self._said_back: SaidBack | None = None
        self._advice: dict[str, str] = {}
        self._repairs: list[tuple[str, Subject]] = []
        self._trouble = ""
        self._misses = 0
        self._aside = False
        self._slip: IntendedReading | None = None
        self._wrong_waits = False
        self._types = False
        self._stuck = False  # True after the tool has said that the same question keeps coming back
        self._tried: set[str] = set()  # words said to it without effect
        self._refusing = False
        self._withdrawing = False
        self._skipping = ""
        self._by_ear: set[Subject] = set()
        self._marked = False
        self._failed_runs = 0
        self.phone: LeafLogs | None = None
        """A phone to tape to the leaf, which takes the times instead of the stopwatch."""

    # --- hearing

    def hear(self, text: str) -> None:
        """Takes in a text that the tool has spoken."""
        self._heard.append(text)

    def nothing_happened(self) -> None:
        """Registers an utterance that the tool did not notice and that will be repeated."""
        self.repairs += 1
        self._misses += 1

    def _take_in(self) -> None:
        turn = [self._listener.understand(text) for text in self._heard]
        self._heard = []
        if self.lines and self.lines[-1].text.startswith("read back"):
            # A requested readback needs no answer; a question repeated after it does.
            asked = next((one for one in turn if one.kind == "readback"), None)
            turn = [one for one in turn if one is not asked]
        if any(one.kind == "advice" for one in turn):
            self._advice = {}
        last = self.lines[-1] if self.lines else None
        for nth, one in enumerate(turn):
            goes_on = any(later.kind in _GOES_ON for later in turn[nth + 1 :])
            if one.kind in ("readback", "fact") and goes_on:
                if not self._accepts(one):
                    break  # the following prompt is not awaited
            else:
                self._take(one)
        by_guide = bool(turn) and turn[-1].kind == "" and self.at_controller is not None
        if last is not None and last.to_tool and turn and not by_guide:
            # A reminder after a long silence precedes the answer and is not a repair.
            self._notice(last, [one.kind for one in turn])

    def _notice(self, said: SpokenLine, replies: list[str]) -> None:
        """Judges from the replies whether the utterance was understood."""
        reply = replies[-1]
        if self._wrong_waits:
            self._tried.add(said.text)
        elsewhere = not said.asks and reply in TO_QUESTIONS
        missed = reply in REPEAT or reply == "wait"
        if "group_opened" in replies:
            missed = said.text in ALL_GOOD or "confirm_not_understood" in replies
        doubted = reply in DOUBTED and self._slip is None
        if self._refusing or not (elsewhere or missed or doubted):
            return
        self.repairs += 1
        self.again.append(said.text)
        self._tried.add(said.text)
        self._misses += elsewhere

    def _accepts(self, one: UnderstoodPrompt) -> bool:
        """True if an answer said back with the next prompt matches the intention."""
        fresh = bool(self._mind) or self._fact is not None
        if fresh or self._said_back is None:
            self._said_back = SaidBack(
                at=self._at, mind=self._mind, fact=self._fact, group=self._group
            )
        was = self._said_back
        if one.kind == "readback":
            right = self._is_meant(one.readings, was.mind)
        else:
            right = is_fact(one.values, was.fact)
        if right:
            if fresh:
                self._wrong_waits = False
                self._filed()
                self._fact = None
            return True
        self._return_to(was)
        self._ask("echo", readings=one.readings, values=one.values)
        self._wrong_waits = True
        self.taken_back += 1
        return False

    def _is_one_of_the_group(self, values: dict[str, str]) -> bool:
        """True if a good answer for all steps of a question was taken for only one of them."""
        if self._fact != ("", "all good") or self._group is None:
            return False
        subjects = {str(subject) for _, subject in self._group}
        return values.get("value") == "in order" and values.get("about") in subjects

    def _return_to(self, was: SaidBack) -> None:
        """Returns to the step whose answer was said back."""
        self._at, self._mind, self._fact, self._group = was.at, was.mind, was.fact, was.group

    def _recall(self, one: UnderstoodPrompt) -> None:
        """Returns to an earlier step if the tool asks about the answer that it said back."""
        was = self._said_back
        if was is None or self._is_meant(one.readings, self._mind):
            return
        if one.kind == "readback" and self._is_meant(one.readings, was.mind):
            self._return_to(was)
        elif one.kind in _WHICH and len(was.mind) == 1:
            says, plain = self._listener.says, one.text.lower()
            mine = [says(each.value, plain) for each in self._mind]
            if says(was.mind[0].value, plain) and not any(mine):
                self._return_to(was)

    def _take(self, one: UnderstoodPrompt) -> None:
        """Updates the memory with one sentence of the tool."""
        if one.kind in ("readback", *_WHICH):
            self._recall(one)
        was = self._said_back
        not_mine = one.kind == "fact" and not is_fact(one.values, self._fact)
        if not_mine and was and is_fact(one.values, was.fact):
            self._return_to(was)
        elif not_mine and self._is_one_of_the_group(one.values):
            self._group, self._fact = None, (one.values["about"], one.values["value"])
        match one.kind:
            case "prompt" | "caution":
                self._group = None
                self._new_step(one)
            case "group":
                self._new_group(one)
            case "position":
                if self._question is None:
                    self._new_step(one.model_copy(update={"kind": "prompt"}))
            case "adjust":
                self._turn(one)
            case "readback":
                self._ask("readback", readings=one.readings)
                self._wrong_waits = not self._is_meant(one.readings, self._mind)
            case "fact" | "hands_hold" | "leaves_hold":
                self._ask(one.kind, values=one.values)
                self._wrong_waits = not is_fact(one.values, self._fact)
            case "filed" | "filed_of" | "filed_all" | "verdict":
                self._filed()
            case "advice":
                self._advice |= one.values
            case "measure_again":
                self._mind = ()
                self._ask("prompt")
            case "dropped":
                self._wrong_waits = False
                self._ask("prompt")
            case "wait":
                self._waits(one)
            case "level_silent" | "level_brief":
                self._ask("speak more")
            case "no_clock":
                self._can_time = False
            case "clock_run_again":
                self._run_failed()
            case "circling":
                self._stuck = True
            case "complete":
                self.over = True
            case _ if one.kind in ASKS:
                self._ask(one.kind, values=one.values)
            case _ if one.kind in REPEAT:
                self._misses += 1
                self._types = one.kind == "type_it"

    def _ask(
        self,
        kind: str,
        *,
        readings: tuple[ReadBackHeard, ...] = (),
        values: dict[str, str] | None = None,
    ) -> None:
        step, subject = self._at or (None, None)
        self._question = Question(
            kind=kind, step=step, subject=subject, readings=readings, values=values or {}
        )
        self._misses = 0

    def _new_step(self, one: UnderstoodPrompt) -> None:
        if one.step is None or one.subject is None:
            return
        here = (one.step, one.subject)
        if self._at is not None and self._at[0].id == one.step.id and self._at[1] is one.subject:
            pass  # asked again: the reading still holds
        else:
            if self._wrong_waits and (self._fact is not None or self._mind):
                # A wrong answer was accepted, and the tool has moved on.
                self._withdrawing, self._wrong_waits = True, False
            self._mind, self._fact, self._slip = (), None, None
            self._advice = {}
            self._forget_failures()
        self._at = here
        self._ask(one.kind)

    def _new_group(self, one: UnderstoodPrompt) -> None:
        """Takes in a question for several steps, represented by the first step."""
        self._group = one.group
        step, subject = one.group[0] if one.group else self._at or (None, None)
        asked = one.model_copy(update={"kind": "prompt", "step": step, "subject": subject})
        self._new_step(asked)

    def _forget_failures(self) -> None:
        """Forgets earlier failures after a success."""
        self._stuck, self._tried = False, set()

    def _turn(self, one: UnderstoodPrompt) -> None:
        """Adjusts a setting on request, following the spoken advice."""
        if one.step is None or one.subject is None or one.step.quantity is None:
            return
        self._at = (one.step, one.subject)
        turned = adjust(self.door, one.step.quantity, one.subject, self._advice, self._memory)
        if turned is not None:
            self.turned.append((one.subject, *turned))
        if one.step.quantity is Quantity.OPEN_FULLY_FORCE:
            self.door.repair("leaf binds", one.subject)
        self._mind, self._slip = (), None
        self._ask("prompt")

    def _run_failed(self) -> None:
        """Counts a failed timed cycle; after two of them the technician uses a stopwatch."""
        self._mind = ()
        self._failed_runs += 1
        self._ask("clock_run_again" if self._failed_runs < MOST_FAILED else "no_more_runs")

    def _filed(self) -> None:
        if self._wrong_waits:
            self._withdrawing, self._wrong_waits = True, False
        self._forget_failures()
        if self.phone is not None:
            self.phone.unused = 0
        for meant in self._mind:
            self._memory.note(
                meant.quantity, meant.subject, self._setting(meant), float(meant.value)
            )
        self._mind, self._slip = (), None

    def _setting(self, meant: IntendedReading) -> int:
        name = SETTING_OF.get(meant.quantity)
        side = self.door.side_of(meant.subject)
        return self.door.setting(side, name) if name is not None else 0

    def _waits(self, one: UnderstoodPrompt) -> None:
        """Handles an example of a fitting answer: only the step itself is open."""
        self._group = None
        if one.values["name"] == "wait_caution":
            self._ask("caution")
        elif self._question is None or self._question.kind not in ("caution",):
            misses = self._misses
            self._ask("prompt")
            self._misses = misses + 1

    # --- comparisons

    def _is_meant(
        self, readings: tuple[ReadBackHeard, ...], mind: tuple[IntendedReading, ...]
    ) -> bool:
        """True if a readback is exactly and completely what was meant.

        The log of a leaf may show no backcheck.
        """
        of_cycle = len(readings) > 1 and self._marked
        if of_cycle and not any(heard.unit is Unit.DEGREE for heard in readings):
            mind = tuple(meant for meant in mind if meant.unit is not Unit.DEGREE)
        if not readings or len(readings) != len(mind):
            return False
        return all(any(_same(heard, meant, of_cycle) for meant in mind) for heard in readings)


def is_fact(values: dict[str, str], fact: tuple[str, str] | None) -> bool:
    """True if a fact in a readback is the intended one."""
    if fact is None:
        return False
    about, value = fact
    return values.get("about", "") in ("", about) and values.get("value") == value


def _same(heard: ReadBackHeard, meant: IntendedReading, of_cycle: bool) -> bool:
    if heard.quantity not in (None, meant.quantity) or heard.subject not in (None, meant.subject):
        return False
    if heard.unit not in (None, meant.unit):
        return False
    near = NEAR_DEG if meant.unit is Unit.DEGREE else NEAR_S
    return abs(heard.value - meant.value) <= (near if of_cycle else 0)
