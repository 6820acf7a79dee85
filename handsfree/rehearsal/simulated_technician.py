"""A simulated technician who does what the tool asks: listens, looks, measures and speaks.

The technician follows only what is said aloud, and remembers the last question, the readings, and
the intended words. A readback that differs from the intention is refused, whatever distorted it.
"""

from __future__ import annotations

from collections import Counter
from decimal import Decimal

from handsfree.job.quantity import Quantity
from handsfree.job.reading import Subject
from handsfree.job.unit import Unit
from handsfree.procedure.step import Step
from handsfree.rehearsal import observations, phrasing
from handsfree.rehearsal.leaf_logs import MOST_UNUSED
from handsfree.rehearsal.measurements import MOMENTS as MARKED
from handsfree.rehearsal.measurements import misread
from handsfree.rehearsal.phrasing import IntendedReading
from handsfree.rehearsal.prompt_comprehension import HOLDS
from handsfree.rehearsal.technician_memory import (
    ALL_GOOD,
    MOST_FAILED,
    Question,
    SpokenLine,
    TechnicianMemory,
    is_fact,
)
from handsfree.rehearsal.technician_profile import ASIDES, CHAT, NONSENSE, STRANGERS
from handsfree.timing.cycle import MOMENTS, SPANS

_AFFIRM = ("affirm", "affirm", "affirm", "yes", "affirmative")
_NEGATIVE = ("negative", "negative", "no", "wrong")
_DONE = ("done", "done", "done", "next", "finished")
_YES = (*["yes"] * 4, "yeah")
_NO = (*["no"] * 4, "nope")
_BY_EAR = frozenset(SPANS)
_MOST_SAID = 600
_SHIFTS_AFTER = 3
"""Number of misses of the answer named by a step before the technician tries a synonym."""


class Technician(TechnicianMemory):
    """Looks, measures, adjusts and speaks as the tool asks, following a profile."""

    # --- speaking

    def speak(self) -> SpokenLine | None:
        """The next line while the tool listens; None once the visit is over."""
        self._unanswered += tuple(self._heard)
        before = self._question
        self._take_in()
        if self.over or len(self.lines) >= _MOST_SAID:
            return None
        self._refusing = False
        elsewhere = self._question is not before
        line = self._by_the_way() or self._set_up(elsewhere=elsewhere) or self._answer()
        in_vain = self._stuck and line.text in self._tried
        if (self._types or in_vain) and line.to_tool:
            line = line.model_copy(update={"typed": True})
            self._types = False
        self.lines.append(line)
        return line

    def _set_up(self, *, elsewhere: bool) -> SpokenLine | None:
        """The answer to the controller's guide; None if the guide is not active."""
        texts, self._unanswered = self._unanswered, ()
        if self.at_controller is None:
            return None
        said = self.at_controller.answer(texts, elsewhere=elsewhere)
        return self._line(said, after_s=self._works(4.0)) if said is not None else None

    def _by_the_way(self) -> SpokenLine | None:
        """Occasionally says something else first, never twice in a row."""
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
                to_tool = texts is ASIDES
                return SpokenLine(text=self._pick(texts), who=who, to_tool=to_tool, asks=to_tool)
            draw -= share
        self._aside = False
        return None

    def _answer(self) -> SpokenLine:
        question = self._question
        if self._withdrawing:
            return self._withdraw()
        if question is None:
            return self._asks("where am I")
        match question.kind:
            case "prompt":
                return self._do(question)
            case "wants_word":
                return self._line(self._shifted(question.values["word"]), after_s=3.0)
            case "caution":
                return self._clears(question)
            case "readback" | "fact" | "hands_hold" | "leaves_hold" | "echo":
                return self._judge(question)
            case "withdraw" | "clock_another" | "clock_run_again":
                return self._line(self._pick(_AFFIRM))
            case "open_ask" | "open_ask_wrong" | "wait_word" | "wait_word_wrong":
                return self._line("done later")
            case "hand_over_ask" | "hand_over_words":
                return self._line("taken out of service")
            case "hold_ask" | "hold_no_more":
                return self._line("accepted by owner")
            case "gate_learn_cycle" | "gate_settings_lock" | "gate_people":
                return self._line("accepted by owner")
            case "hand_over_who":
                return self._line("mrs example of the building office")
            case "fault_work_ask" | "fault_work_words":
                return self._line("repaired")
            case "fault_gone":
                return self._line(self._pick(_AFFIRM))
            case "fault_found" | "fault_which":
                return self._line(self._pick(_NEGATIVE))  # this technician named none
            case "search_offer" | "complaint_keep":
                return self._line(self._pick(_NEGATIVE))
            case "or_leave":
                return self._line("next")
            case "note_or_answer":
                return self._line(self._pick(_NEGATIVE))
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
                return self._asks("speak more")
            case _:
                return self._do(question)

    def _withdraw(self) -> SpokenLine:
        """Takes back a wrong value that was filed."""
        question = self._question
        if question is not None and question.kind == "withdraw":
            self._withdrawing = False
            return self._line("affirm")
        if self._fact is not None or self._misses > 2:
            self._withdrawing = False
            return self._line("go back")
        return self._line("withdraw that")

    def _reason(self) -> SpokenLine:
        reason, self._skipping = self._skipping, ""
        return self._line(reason or "disregard")

    def _judge(self, question: Question) -> SpokenLine:
        """Affirms a readback that matches the intention and refuses any other."""
        right = question.kind != "echo" and (
            self._is_meant(question.readings, self._mind)
            if question.kind == "readback"
            else is_fact(question.values, self._fact)
        )
        if right:
            if question.kind in HOLDS:
                self.seen_faults.append("wrong hand")
                self._repairs.append(("wrong hand", Subject.OPENING))
                self._repair_all()
                self._fact = None
                return self._line(self._pick(_NEGATIVE))
            return self._line(self._pick(_AFFIRM))
        if self._slip is None and self._misses == 0:
            self.repairs += 1  # it was misheard
        self._refusing = True
        one = len(question.readings) == 1 == len(self._mind)
        if one and self._random.random() < self._manner.corrects and self._misses == 0:
            meant, heard = self._mind[0], question.readings[0]
            same = heard.quantity in (None, meant.quantity) and heard.subject in (
                None,
                meant.subject,
            )
            if same:
                bare = phrasing.number(meant.value, self._random)
                self._slip = None
                return self._line(f"correction {bare}")
        self._slip = None
        return self._line(self._pick(_NEGATIVE))

    # --- doing what a step asks for

    def _do(self, question: Question) -> SpokenLine:
        if self._group is not None:
            return self._answer_group(self._group)
        step, subject = question.step, question.subject
        if step is None or subject is None:
            return self._asks("where am I")
        match step.waits:
            case "observation":
                return self._observe(step, subject)
            case "choice":
                return self._choose(step, subject)
            case "reading":
                return self._read(step, subject, with_unit=question.kind == "unit_in_doubt")
            case "caution":
                return self._clears(question)
            case _:
                self._repair_all()
                self.answered[step.id, subject] = "done"
                if step.own_word is not None:
                    word = self._listener.own_word(step.own_word)
                    return self._line(self._shifted(word), after_s=self._works(4.0))
                return self._line(self._pick(_DONE), after_s=self._works(4.0))

    def _clears(self, question: Question) -> SpokenLine:
        """Says that it is clear, as the caution asks."""
        if question.step is not None and question.subject is not None:
            self.answered[question.step.id, question.subject] = "clear"
        return self._line(self._shifted("clear"), after_s=3.0)

    def _answer_group(self, group: tuple[tuple[Step, Subject], ...]) -> SpokenLine:
        """Inspects everything listed in a question; known values are measured again."""
        if group and group[0][0].waits == "done":
            self._repair_all()
            self.answered |= {(step.id, subject): "done" for step, subject in group}
            return self._line(self._pick(_DONE), after_s=self._works(4.0))
        seen = [observations.observe(self.door, step, subject) for step, subject in group]
        if not seen or not all(each.in_order for each in seen):
            self._fact = None
            return self._line(self._changed("no", "nope"), after_s=self._works(5.0))
        self._fact = ("", "all good")
        self.answered |= {(step.id, subject): "in_order" for step, subject in group}
        return self._line(self._changed(*ALL_GOOD), after_s=self._works(5.0))

    def _repair_all(self) -> None:
        """Repairs the reported problems at the next work step."""
        for fault, subject in self._repairs:
            self.door.repair(fault, None if subject is Subject.OPENING else subject)
        self._repairs = []

    def _observe(self, step: Step, subject: Subject) -> SpokenLine:
        seen = observations.observe(self.door, step, subject)
        good, bad = self._listener.observed(step)
        if self._fact is not None and self._fact[0] == str(subject):
            said = self._fact[1]  # asked again about something already seen
        else:
            said = good if seen.in_order else bad
            if not seen.in_order:
                self.seen_faults.append(seen.fault)
                self._trouble = seen.words
                about = subject if seen.fault in ("leaf binds", "plate dead") else Subject.OPENING
                self._repairs.append((seen.fault, about))
        self._fact = (str(subject), said)
        self.answered[step.id, subject] = "in_order" if said == good else "not_in_order"
        if step.is_pass_or_fail:
            return self._line("pass" if said == good else "fail", after_s=self._works(5.0))
        return self._line(self._pick(_YES if said == good else _NO), after_s=self._works(5.0))

    def _choose(self, step: Step, subject: Subject) -> SpokenLine:
        value = observations.choose(self.door, step, subject)
        chosen = next((o for o in step.options if o.value == value), step.options[0])
        said = chosen.say
        self._fact = (str(subject), said)
        self.answered[step.id, subject] = chosen.value
        if step.fact == "leaf" and self.door.has("motors swapped"):
            self.seen_faults.append("motors swapped")
            self._repairs.append(("motors swapped", Subject.OPENING))
        return self._line(self._shifted(said), after_s=self._works(3.0))

    def _read(self, step: Step, subject: Subject, *, with_unit: bool) -> SpokenLine:
        quantity = step.quantity
        if quantity is None:
            return self._asks("where am I")
        if len(self._mind) > 1:
            self._mind = ()  # of an abandoned timed cycle
        if not self._mind and self._starts_the_clock(quantity, subject):
            self._ask("prompt")
            return self._line(f"start the clock {subject}")
        if not self._mind and self._logs_the_leaf(quantity, subject):
            self._ask("prompt")
            return self._line(f"measure the {subject}", after_s=self._works(40.0))
        if not self._mind:
            meant = self.hands.measure(quantity, subject)
            if meant is None:
                self._skipping = "the leaf does not come so far"
                return self._line("skip")
            self._means((meant,))
            self._marked = False
            if self._random.random() < self._manner.slips:
                self._slip = misread(meant, self._random)
                self.slips += 1
        said = self._slip or self._mind[0]
        in_vain = max(self._misses, len(self._tried))
        if in_vain >= 2 or self._stuck:
            return self._line(phrasing.digit_by_digit(said))
        context = "quantity" if in_vain else "any"
        text = phrasing.reading(said, self._random, context=context, with_unit=with_unit)
        return self._line(text, after_s=self._works(8.0))

    def _means(self, readings: tuple[IntendedReading, ...]) -> None:
        self._mind = readings
        self.meant += readings

    # --- the clock

    def _starts_the_clock(self, quantity: Quantity, subject: Subject) -> bool:
        if not self._can_time or quantity not in _BY_EAR or self._failed_runs >= MOST_FAILED:
            return False
        if subject in self._by_ear:
            return True
        if quantity is Quantity.OPENING_TIME and self._random.random() < self._manner.by_ear:
            self._by_ear.add(subject)
            return True
        return False

    def _logs_the_leaf(self, quantity: Quantity, subject: Subject) -> bool:
        """Tapes the phone to the leaf and logs a cycle; False if the log lacks a time."""
        if self.phone is None or quantity not in SPANS or self.phone.unused >= MOST_UNUSED:
            return False
        cycle = self.phone.log(self.door.side_of(subject))
        at = [getattr(cycle, name) for name in MARKED]
        if any(moment is None for moment in at):
            return False
        self.timed(subject, tuple(at))
        angle = self.hands.measure(Quantity.BACKCHECK_ANGLE, subject)
        if angle is not None:
            self._mind = (*self._mind, angle)
            self.meant.append(angle)
        return True

    def mark(self) -> tuple[float, ...] | None:
        """Times at which the words of a timed cycle are said (s from the press).

        None if the leaf does not reach every moment.
        """
        subject = self._at[1] if self._at is not None else Subject.OPENING
        marks = self.hands.marks(self.door.cycle(self.door.side_of(subject)))
        if marks is None:
            self._by_ear.discard(subject)
            return None
        self.timed(subject, marks)
        return marks

    def timed(self, subject: Subject, marks: tuple[float, ...]) -> None:
        """Remembers the five times between the marks as the intended readings."""
        self._marked = True
        for quantity in SPANS:
            self.hands.remember(quantity, subject)
        at = dict(zip(MOMENTS, marks, strict=True))
        self._means(
            tuple(
                IntendedReading(
                    quantity=quantity,
                    subject=subject,
                    value=Decimal(f"{at[end] - at[begin]:.2f}"),
                    unit=Unit.SECOND,
                )
                for quantity, (begin, end) in SPANS.items()
            )
        )

    # --- helpers

    def _line(self, text: str, *, after_s: float = 0.6) -> SpokenLine:
        return SpokenLine(text=text, after_s=after_s)

    def _asks(self, text: str) -> SpokenLine:
        return SpokenLine(text=text, asks=True)

    def _works(self, seconds: float) -> float:
        """Duration of work (s); sometimes the technician forgets that the tool is waiting."""
        if self._random.random() < self._manner.forgets:
            return 25.0
        return seconds * self._random.uniform(0.6, 1.4)

    def _shifted(self, said: str) -> str:
        """The answer that the step names, or a synonym after several misses."""
        other = self._others.get(said)
        if other is None or self.again.count(said) < _SHIFTS_AFTER:
            return said
        return self._pick((said, other))

    def _changed(self, said: str, other: str) -> str:
        """The answer that the question names; after a miss, whichever of both is heard better."""
        return self._pick((said, other)) if self.again.count(said) else said

    def _pick(self, words: tuple[str, ...]) -> str:
        """Chooses one of several synonyms.

        After a miss the technician stays with the word understood best so far, and tries others if
        it fails.
        """
        missed = Counter(self.again)
        if not any(missed[word] for word in words):
            return self._random.choice(words)
        said = Counter(line.text for line in self.lines if not line.typed)
        left = [word for word in words if word not in self._tried] or words
        return min(left, key=lambda word: ((missed[word] + 0.5) / (said[word] + 1), word))
