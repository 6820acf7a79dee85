"""A technician who does what the tool asks for: he hears its words, looks, measures, speaks.

He follows what is said aloud and nothing else. What he has in mind is his own: what he was
asked last, what he has read, what he meant to say. A readback that is not what he meant is
refused, whatever became of it on its way.
"""

from __future__ import annotations

from decimal import Decimal
from random import Random

from pydantic import Field

from handsfree.job.quantity import Quantity
from handsfree.job.reading import Subject
from handsfree.job.record import Record
from handsfree.job.unit import Unit
from handsfree.procedure.step import Procedure, Step
from handsfree.rehearsal import looking, saying
from handsfree.rehearsal.adjusting import Memory, adjust
from handsfree.rehearsal.door import Door
from handsfree.rehearsal.listening import Listener, ReadBackHeard, Understood
from handsfree.rehearsal.manner import ASIDES, CHAT, NONSENSE, STRANGERS, Manner
from handsfree.rehearsal.measuring import SETTING_OF, Hands, slipped
from handsfree.rehearsal.saying import Meant
from handsfree.timing.cycle import MOMENTS, SPANS
from handsfree.wording import Wording

_NEAR_S = Decimal("0.4")
"""So near to his own marks a time by ear is what he meant: he has no other watch."""
_AFFIRM = ("affirm", "affirm", "affirm", "yes", "correct", "affirmative")
_NEGATIVE = ("negative", "negative", "no", "wrong")
_DONE = ("done", "done", "done", "next", "finished")
_REPEAT = frozenset(
    (
        *("say_again", "first_answer", "affirm_or_negative", "nothing_read", "no_limit"),
        *("wrong_unit", "spell_or_type", "yes_or_type", "type_it", "hear_badly", "nothing_waits"),
    )
)
_BY_EAR = frozenset(SPANS)
_MOST_SAID = 600
_MOST_FAILED = 2


class Line(Record):
    """What is said next, by whom, and what passes before it, in s.

    ``to_tool`` is whether the tool is meant to understand it; ``typed`` whether he types it,
    as the tool has told him to.
    """

    text: str
    who: str = "technician"
    after_s: float = 0.6
    to_tool: bool = True
    typed: bool = False


class Question(Record):
    """What the technician believes that the tool waits for."""

    kind: str
    step: Step | None = None
    subject: Subject | None = None
    readings: tuple[ReadBackHeard, ...] = ()
    values: dict[str, str] = Field(default_factory=dict)


class Technician:
    """Follows a visit by ear. ``can_time`` is whether the tool can hear marks."""

    def __init__(
        self,
        door: Door,
        procedure: Procedure,
        words: Wording,
        manner: Manner,
        seed: int = 0,
        *,
        can_time: bool = False,
    ) -> None:
        self.door = door
        self.meant: list[Meant] = []
        """Every reading that he meant, for whoever compares it with the record."""
        self.lines: list[Line] = []
        self.seen_faults: list[str] = []
        self.turned: list[tuple[Subject, str, int, int]] = []
        self.over = False
        self.repairs = 0
        """How often he had to say something again that was right the first time."""
        self.slips = 0
        """How often he said a wrong value himself."""
        self._random = Random(f"technician {seed}")
        self.hands = Hands(door, Random(f"hands {seed}"))
        self._listener = Listener(words, procedure, door.spec.sheet.opening)
        self._manner, self._can_time = manner, can_time
        self._heard: list[str] = []
        self._memory = Memory()
        self._question: Question | None = None
        self._at: tuple[Step, Subject] | None = None
        self._mind: tuple[Meant, ...] = ()
        self._fact: tuple[str, str] | None = None
        self._advice: dict[str, str] = {}
        self._repairs: list[tuple[str, Subject]] = []
        self._trouble = ""
        self._misses = 0
        self._aside = False
        self._slip: Meant | None = None
        self._wrong_waits = False
        self._types = False
        self._refusing = False
        self._withdrawing = False
        self._skipping = ""
        self._by_ear: set[Subject] = set()
        self._marked = False
        self._failed_runs = 0

    # --- hearing

    def hear(self, text: str) -> None:
        """The tool has said this aloud."""
        self._heard.append(text)

    def nothing_happened(self) -> None:
        """He has spoken and the tool has not noticed it: he will say it again."""
        self.repairs += 1
        self._misses += 1

    def _take_in(self) -> None:
        turn = [self._listener.understand(text) for text in self._heard]
        self._heard = []
        if self.lines and self.lines[-1].text.startswith("read back"):
            # What he has asked for wants no answer; what is asked again after it does.
            asked = next((one for one in turn if one.kind == "readback"), None)
            turn = [one for one in turn if one is not asked]
        if any(one.kind == "advice" for one in turn):
            self._advice = {}
        last = self.lines[-1] if self.lines else None
        if last is not None and last.to_tool and not self._refusing:
            kinds = [one.kind for one in turn if one.kind]
            # A reminder of a long silence comes before the answer, and repairs nothing.
            self.repairs += bool(kinds) and (kinds[-1] in _REPEAT or kinds[-1] == "wait")
        for one in turn:
            self._take(one)

    def _take(self, one: Understood) -> None:
        """One sentence of the tool: what it changes in his mind."""
        match one.kind:
            case "prompt" | "caution":
                self._new_step(one)
            case "position":
                if self._question is None:
                    self._new_step(one.model_copy(update={"kind": "prompt"}))
            case "adjust":
                self._turn(one)
            case "readback":
                self._ask("readback", readings=one.readings)
                self._wrong_waits = not self._is_meant(one.readings)
            case "fact" | "challenge":
                self._ask(one.kind, values=one.values)
                self._wrong_waits = not self._is_fact(one.values)
            case "filed" | "verdict":
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
            case "complete":
                self.over = True
            case _ if one.kind in _ASKS:
                self._ask(one.kind, values=one.values)
            case _ if one.kind in _REPEAT:
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

    def _new_step(self, one: Understood) -> None:
        if one.step is None or one.subject is None:
            return
        here = (one.step, one.subject)
        if self._at is not None and self._at[0].id == one.step.id and self._at[1] is one.subject:
            pass  # asked once more: what he has read still holds
        else:
            if self._wrong_waits and self._fact is not None:
                # The wrong answer was taken, and the tool has gone on.
                self._withdrawing, self._wrong_waits = True, False
            self._mind, self._fact, self._slip = (), None, None
            self._advice = {}
        self._at = here
        self._ask(one.kind)

    def _turn(self, one: Understood) -> None:
        """Told to adjust: he does, by the advice that he has heard."""
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
        """Nothing came of a run of the clock; after two of them he takes his stopwatch."""
        self._mind = ()
        self._failed_runs += 1
        self._ask("clock_run_again" if self._failed_runs < _MOST_FAILED else "no_more_runs")

    def _filed(self) -> None:
        if self._wrong_waits:
            self._withdrawing, self._wrong_waits = True, False
        for meant in self._mind:
            self._memory.note(
                meant.quantity, meant.subject, self._setting(meant), float(meant.value)
            )
        self._mind, self._slip = (), None

    def _setting(self, meant: Meant) -> int:
        name = SETTING_OF.get(meant.quantity)
        side = self.door.side_of(meant.subject)
        return self.door.setting(side, name) if name is not None else 0

    def _waits(self, one: Understood) -> None:
        """Told what fits: nothing else waits, so the step does."""
        if one.values["name"] == "wait_caution":
            self._ask("caution")
        elif self._question is None or self._question.kind not in ("caution",):
            misses = self._misses
            self._ask("prompt")
            self._misses = misses + 1

    # --- what he compares with

    def _is_meant(self, readings: tuple[ReadBackHeard, ...]) -> bool:
        """Whether a readback is just what he meant, and all of it."""
        if len(readings) != len(self._mind):
            return False
        within = _NEAR_S if len(readings) > 1 and self._marked else Decimal(0)
        return all(any(_same(heard, meant, within) for meant in self._mind) for heard in readings)

    def _is_fact(self, values: dict[str, str]) -> bool:
        if self._fact is None:
            return False
        about, value = self._fact
        return values.get("about", "") in ("", about) and values.get("value") == value

    # --- speaking

    def speak(self) -> Line | None:
        """What he says now that the tool listens; None when it is over for him."""
        self._take_in()
        if self.over or len(self.lines) >= _MOST_SAID:
            return None
        self._refusing = False
        line = self._by_the_way() or self._answer()
        if self._types and line.to_tool:
            line = line.model_copy(update={"typed": True})
            self._types = False
        self.lines.append(line)
        return line

    def _by_the_way(self) -> Line | None:
        """Now and then he does something else first; never twice in a row."""
        manner, draw = self._manner, self._random.random()
        question = self._question
        if self._aside or question is None or question.kind in ("what_is_wrong", "skip_reason"):
            self._aside = False
            return None
        self._aside = True
        for share, texts, who in (
            (manner.chats, CHAT, "technician"),
            (manner.strangers, STRANGERS, "passer-by"),
            (manner.nonsense, NONSENSE, "technician"),
            (manner.asks, ASIDES, "technician"),
        ):
            if draw < share:
                return Line(text=self._pick(texts), who=who, to_tool=texts is ASIDES)
            draw -= share
        self._aside = False
        return None

    def _answer(self) -> Line:
        question = self._question
        if self._withdrawing:
            return self._withdraw()
        if question is None:
            return self._line("where am I")
        match question.kind:
            case "prompt":
                return self._do(question)
            case "caution":
                return self._line("clear", after_s=3.0)
            case "readback" | "fact" | "challenge":
                return self._judge(question)
            case "withdraw" | "clock_another" | "clock_run_again":
                return self._line(self._pick(_AFFIRM))
            case "open_ask" | "open_ask_wrong" | "wait_word" | "wait_word_wrong":
                return self._line("done later")
            case "standing_by" | "stopped":
                return self._line("carry on")
            case "what_is_wrong":
                return self._line(self._trouble or "it is worn", after_s=1.0)
            case "no_more_runs":
                self._by_ear.clear()
                return self._line("negative")
            case "skip_reason":
                return self._reason()
            case "note_go_ahead":
                return self._line("disregard")
            case "which_leaf" if self._mind:
                return self._line(str(self._mind[0].subject))
            case "which_leaf" if question.subject is not None:
                return self._line(str(question.subject))
            case "speak more":
                self._ask("prompt")
                return self._line("speak more")
            case _:
                return self._do(question)

    def _withdraw(self) -> Line:
        """A wrong value was filed: it is taken back."""
        question = self._question
        if question is not None and question.kind == "withdraw":
            self._withdrawing = False
            return self._line("affirm")
        if self._fact is not None or self._misses > 2:
            self._withdrawing = False
            return self._line("go back")
        return self._line("withdraw that")

    def _reason(self) -> Line:
        reason, self._skipping = self._skipping, ""
        return self._line(reason or "disregard")

    def _judge(self, question: Question) -> Line:
        """Affirms a readback that is what he meant, refuses any other."""
        right = (
            self._is_meant(question.readings)
            if question.kind == "readback"
            else self._is_fact(question.values)
        )
        if right:
            if self._misses >= 2:
                return self._line("yes")  # another word than before
            if question.kind == "challenge":
                self.seen_faults.append("wrong hand")
                self._repairs.append(("wrong hand", question.subject or Subject.OPENING))
            return self._line(self._pick(_AFFIRM))
        if self._slip is None and self._misses == 0:
            self.repairs += 1  # it was misheard
        self._refusing = True
        one = len(question.readings) == 1 == len(self._mind)
        if one and self._random.random() < self._manner.corrects and self._misses == 0:
            meant, heard = self._mind[0], question.readings[0]
            same = heard.quantity is meant.quantity and heard.subject in (None, meant.subject)
            if same:
                bare = saying.number(meant.value, self._random)
                self._slip = None
                return self._line(f"correction {bare}")
        self._slip = None
        return self._line(self._pick(_NEGATIVE))

    # --- doing what a step asks for

    def _do(self, question: Question) -> Line:
        step, subject = question.step, question.subject
        if step is None or subject is None:
            return self._line("where am I")
        match step.waits:
            case "observation":
                return self._observe(step, subject)
            case "choice":
                return self._choose(step, subject)
            case "reading":
                return self._read(step, subject)
            case "caution":
                return self._line("clear", after_s=3.0)
            case _:
                self._repair_all()
                return self._line(self._pick(_DONE), after_s=self._works(4.0))

    def _repair_all(self) -> None:
        """What was found and told is mended at the next step that is work."""
        for fault, subject in self._repairs:
            self.door.repair(fault, None if subject is Subject.OPENING else subject)
        self._repairs = []

    def _observe(self, step: Step, subject: Subject) -> Line:
        seen = looking.observe(self.door, step, subject)
        if self._fact is not None and self._fact[0] == str(subject):
            said = self._fact[1]  # asked again: he has seen it already
        else:
            said = "in order" if seen.in_order else "not in order"
            if not seen.in_order:
                self.seen_faults.append(seen.fault)
                self._trouble = seen.words
                about = subject if seen.fault in ("leaf binds", "plate dead") else Subject.OPENING
                self._repairs.append((seen.fault, about))
        self._fact = (str(subject), said)
        return self._line(said, after_s=self._works(5.0))

    def _choose(self, step: Step, subject: Subject) -> Line:
        value = looking.choose(self.door, step, subject)
        said = next((o.say for o in step.options if o.value == value), step.options[0].say)
        self._fact = (str(subject), said)
        if step.fact == "leaf" and self.door.has("motors swapped"):
            self.seen_faults.append("motors swapped")
            self._repairs.append(("motors swapped", Subject.OPENING))
        return self._line(said, after_s=self._works(3.0))

    def _read(self, step: Step, subject: Subject) -> Line:
        quantity = step.quantity
        if quantity is None:
            return self._line("where am I")
        if len(self._mind) > 1:
            self._mind = ()  # of a run of the clock that was given up
        if not self._mind and self._starts_the_clock(quantity, subject):
            self._ask("prompt")
            return self._line(f"start the clock {subject}")
        if not self._mind:
            meant = self.hands.measure(quantity, subject)
            if meant is None:
                self._skipping = "the leaf does not come so far"
                return self._line("skip")
            self._means((meant,))
            self._marked = False
            if self._random.random() < self._manner.slips:
                self._slip = slipped(meant, self._random)
                self.slips += 1
        said = self._slip or self._mind[0]
        if self._misses >= 2:
            return self._line(saying.digit_by_digit(said))
        context = "quantity" if self._misses else "any"
        text = saying.reading(said, self._random, context=context)
        return self._line(text, after_s=self._works(8.0))

    def _means(self, readings: tuple[Meant, ...]) -> None:
        self._mind = readings
        self.meant += readings

    # --- the clock

    def _starts_the_clock(self, quantity: Quantity, subject: Subject) -> bool:
        if not self._can_time or quantity not in _BY_EAR or self._failed_runs >= _MOST_FAILED:
            return False
        if subject in self._by_ear:
            return True
        if quantity is Quantity.OPENING_TIME and self._random.random() < self._manner.by_ear:
            self._by_ear.add(subject)
            return True
        return False

    def mark(self) -> tuple[float, ...] | None:
        """The clock runs: when he says the words, in s from the press; None if he cannot."""
        subject = self._at[1] if self._at is not None else Subject.OPENING
        marks = self.hands.marks(self.door.cycle(self.door.side_of(subject)))
        if marks is None:
            self._by_ear.discard(subject)
            return None
        self.timed(subject, marks)
        return marks

    def timed(self, subject: Subject, marks: tuple[float, ...]) -> None:
        """What he means by his marks: the five times between them."""
        self._marked = True
        for quantity in SPANS:
            self.hands.remember(quantity, subject)
        at = dict(zip(MOMENTS, marks, strict=True))
        self._means(
            tuple(
                Meant(
                    quantity=quantity,
                    subject=subject,
                    value=Decimal(f"{at[end] - at[begin]:.2f}"),
                    unit=Unit.SECOND,
                )
                for quantity, (begin, end) in SPANS.items()
            )
        )

    # --- small things

    def _line(self, text: str, *, after_s: float = 0.6) -> Line:
        return Line(text=text, after_s=after_s)

    def _works(self, seconds: float) -> float:
        """The time that work takes; sometimes he forgets that somebody waits."""
        if self._random.random() < self._manner.forgets:
            return 25.0
        return seconds * self._random.uniform(0.6, 1.4)

    def _pick(self, words: tuple[str, ...]) -> str:
        return self._random.choice(words)


def _same(heard: ReadBackHeard, meant: Meant, within: Decimal) -> bool:
    if heard.quantity is not meant.quantity or heard.subject not in (None, meant.subject):
        return False
    return abs(heard.value - meant.value) <= within


_ASKS = frozenset(
    (
        *("implausible", "off_the_scale", "one_of_two", "withdraw", "clock_another"),
        *("clock_run_again", "open_ask", "open_ask_wrong", "wait_word", "wait_word_wrong"),
        *("standing_by", "stopped", "note_go_ahead", "what_is_wrong", "skip_reason"),
        *("which_leaf", "which_quantity", "no_clock", "reading_missing", "wants_word"),
    )
)
