"""The technician's understanding of the tool's sentences, from their words alone.

The technician knows the wording of the language and the prompts of the procedure, like a person who
has done a few visits. The tool's internal state is not used.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from decimal import Decimal

from pydantic import Field

from handsfree.job.opening import Opening
from handsfree.job.quantity import Quantity
from handsfree.job.reading import Subject
from handsfree.job.record import Record
from handsfree.job.unit import Unit
from handsfree.language.wording import Wording, placeholders
from handsfree.procedure.listed_question import LISTED, question
from handsfree.procedure.step import OwnWord, Procedure, Step
from handsfree.procedure.task_selection import subjects
from handsfree.rehearsal.spoken_values import spoken_values

_KNOWN = (
    # Sentences that need an answer or change the next action; the first match counts.
    *(
        "hands_hold",
        "leaves_hold",
        "withdraw",
        "unit_in_doubt",
        "implausible",
        "off_the_scale",
        "one_of_two",
    ),
    *("doubtful", "unit_doubtful", "position"),
    *("clock_marks", "clock_again", "clock_another", "open_ask", "open_ask_wrong", "caution"),
    *("hand_over_ask", "hand_over_words", "hand_over_prove", "hand_over_with", "search_offer"),
    "complaint_keep",
    *("hold_ask", "hold_no_more", "hold_with", "hand_over_who", "gate_first", "gate_left_out"),
    *("gate_learn_cycle", "gate_settings_lock", "gate_people"),
    *("fault_work_ask", "fault_work_words", "fault_gone", "fault_which", "fault_found"),
    *("angle_out", "steps_more"),
    *("fault_kept", "fault_stays", "fault_proved", "fault_proved_later", "fault_none"),
    *("say_again", "affirm_or_negative", "spell_or_type", "type_it", "first_answer"),
    *("hear_badly", "yes_or_type", "circling", "other_words", "or_type"),
    *("which_quantity", "which_leaf", "no_such", "no_stage", "wrong_unit", "no_clock"),
    *("nothing_waits", "nothing_to_withdraw", "nothing_read", "no_limit", "no_skip", "first_step"),
    *("caution_hold", "done_hold", "learn_hold", "jog_hold"),
    *("wait_word", "wait_word_wrong", "wants_word", "reading_missing", "measure_again", "or_leave"),
    *("not_locked_yet", "still_live_stop"),
    *("note_or_answer", "typed", "typed_often"),
    *("standing_by", "stopped", "note_go_ahead", "note_kept", "what_is_wrong", "skip_reason"),
    *("clock_dropped", "clock_not_running", "clock_clipped", "complete", "level_full"),
    *(
        "level_brief",
        "level_silent",
        "voice_changed",
        "filed_of",
        "filed_all",
        "settled",
        "open_list",
    ),
    *("stage_wrong", "jumped", "readability_db", "readability", "not_not_applicable"),
    *("confirm_noise", "confirm_taken_back", "confirm_not_understood", "confirm_heard_well"),
    *("group_good_help", "group_done_help", "group_same_help", "group_opened"),
    *("withdrawn", "kept", "filed", "dropped", "remaining", "nothing_left", "resumed"),
    *("rival_doubtful", "which_value"),  # nearly all of them consist of values, so they come last
)
_OF_VALUES = ("group_same", "group_as_other")
_GROUPS = {"group_good": "observation", "group_done": "done", **dict.fromkeys(_OF_VALUES, "")}
"""Questions for several steps, and the kind of answer that these steps take."""
HOLDS = ("hands_hold", "leaves_hold")
"""Sentences that read back contradictory facts and wait for the right ones."""
_DOUBTFUL = ("doubtful", "unit_doubtful", "rival_doubtful")
_RUN_AGAIN = "clock_run_again"
_TWO_HEARD = "two_heard"
_VERDICTS = (
    *("verdict_pass", "verdict_fail", "verdict_too_close", "verdict_not_judged"),
    *("verdict_pass_of", "verdict_not_judged_of"),
    *("verdict_pass_all", "verdict_not_judged_all"),
)
_ADVICE = (
    *("slow_to", "speed_up_to", "raise_to", "lower_to", "make_it", "doubt_no_run_helps"),
    *("doubt_more_runs", "doubt_runs_differ", "within_doubt", "but_first"),
)
# A choice may contain any words, so it is tried last: 'say clear when it is clear' is a caution.
_OBSERVED = ("in_order", "not_in_order", "pass", "fail")
_WAITS = (
    *("wait_reading", "wait_observation", "wait_caution", "wait_done", "wait_own_word"),
    "wait_choice",
)


class ReadBackHeard(Record):
    """One reading in a readback, as heard by the technician; ``quantity`` is None if only the
    value is said back with the next prompt.
    """

    subject: Subject | None
    quantity: Quantity | None
    value: Decimal
    unit: Unit | None = None


class UnderstoodPrompt(Record):
    """One sentence of the tool.

    ``kind`` is 'prompt' or 'caution' (with ``step`` and ``subject``), 'adjust' (likewise),
    'readback' (with ``readings``), 'fact' (a fact read back), 'verdict', 'advice', 'wait', the name
    of a sentence ('say_again'), or '' if it means nothing to the technician. 'group' is a question
    for several steps, listed in ``group``, which is () if the question says known values.
    ``values`` holds the words in it.
    """

    kind: str
    text: str
    step: Step | None = None
    subject: Subject | None = None
    readings: tuple[ReadBackHeard, ...] = ()
    values: dict[str, str] = Field(default_factory=dict)
    verdict: str = ""
    group: tuple[tuple[Step, Subject], ...] = ()


class PromptListener:
    """Recognizes the sentences of a language and the prompts of a procedure."""

    def __init__(self, words: Wording, procedure: Procedure, opening: Opening) -> None:
        self._words, self._opening = words, opening
        self._all_good = words.say("all_good").lower().rstrip(".")
        self._items = [step for step in procedure.steps if step.item is not None]
        self._prompts: dict[str, tuple[str, Step, Subject]] = {}
        for step in procedure.steps:
            for subject in subjects(step.for_each, opening):
                self._learn(step, subject)
        self._learn_listed(procedure)
        self._templates = [
            (name, _pattern(text)) for name in _KNOWN for text in self._sentences(name)
        ]
        self._values = spoken_values(words.language)
        self._energies = self._start("measured_energies")
        self._verdicts = {name: self._start(name) for name in _VERDICTS}
        self._advice = [
            (name, _pattern(text, whole=False))
            for name in _ADVICE
            for text in self._sentences(name)
        ]
        self._waits = [(name, _pattern(text)) for name in _WAITS for text in self._sentences(name)]
        self._run_again = self._sentences(_RUN_AGAIN)[0].lower()
        self._two_heard = _pattern(self._sentences(_TWO_HEARD)[0])
        self._reading = self._reading_pattern()
        self._fact = self._fact_pattern(procedure)
        self._value, self._answer = self._value_pattern(), self._answers(procedure)
        self._quantities = {words.quantity(q): q for q in Quantity}
        self._subjects = {words.subject(subject): subject for subject in Subject}

    def says(self, value: Decimal, plain: str) -> bool:
        """Checks whether a text says a number, as people say it or digit by digit."""
        return any(self._words.number(value, spelled=each) in plain for each in (True, False))

    def own_word(self, own_word: OwnWord) -> str:
        """The word that ends a life-critical step: 'proved dead'."""
        return self._words.name("word", own_word)

    def observed(self, step: Step) -> tuple[str, str]:
        """The good and the bad answer to an observation in a readback: 'ok', 'not ok'."""
        good, bad = ("pass", "fail") if step.is_pass_or_fail else ("in_order", "not_in_order")
        return self._words.name("word", good).lower(), self._words.name("word", bad).lower()

    def understand(self, text: str) -> UnderstoodPrompt:
        """Understands one spoken text."""
        plain = _plain(text).split(f" {self._energies}")[0]
        if plain in self._prompts:
            kind, step, subject = self._prompts[plain]
            return UnderstoodPrompt(kind=kind, text=text, step=step, subject=subject)
        if (group := self._group_of(plain)) is not None:
            return UnderstoodPrompt(kind="group", text=text, group=group)
        if plain.endswith(f" {self._all_good}."):
            return UnderstoodPrompt(kind="fact", text=text, values={"value": self._all_good})
        if self._two_heard.fullmatch(plain):  # checked first, because it may contain a readback
            return UnderstoodPrompt(kind=_TWO_HEARD, text=text)
        if readings := self._readings(plain):
            return UnderstoodPrompt(kind="readback", text=text, readings=readings)
        if match := self._fact.fullmatch(plain):
            return UnderstoodPrompt(kind="fact", text=text, values=_found(match))
        if (bare := self._bare(plain)) is not None:
            return UnderstoodPrompt(kind="readback", text=text, readings=(bare,))
        if plain.rstrip(".") in self._answer:
            return UnderstoodPrompt(kind="fact", text=text, values={"value": plain.rstrip(".")})
        for name, start in self._verdicts.items():
            if plain.startswith(start):
                return UnderstoodPrompt(kind="verdict", text=text, verdict=name)
        for name, pattern in self._templates:
            if match := pattern.fullmatch(plain):
                return self._template(name, text, match.groupdict())
        if plain.endswith(self._run_again):
            return UnderstoodPrompt(kind="clock_run_again", text=text)
        for name, pattern in self._advice:
            if match := pattern.search(plain):
                return UnderstoodPrompt(
                    kind="advice", text=text, values={"name": name, **_found(match)}
                )
        return self._waiting(text, plain)

    def _template(self, name: str, text: str, values: dict[str, str]) -> UnderstoodPrompt:
        """Matches a known sentence; a step's prompt at its end shows the position in the visit."""
        if name == "position":
            if (group := self._group_of(values["prompt"])) is not None:
                return UnderstoodPrompt(kind="group", text=text, group=group)
            at = values["prompt"]  # the final period belongs to the sentence, or is missing
            known = self._prompts.get(at) or self._prompts.get(f"{at}.")
            if known is not None:
                return UnderstoodPrompt(kind="position", text=text, step=known[1], subject=known[2])
        spoken = ", ".join(match[0] for match in self._reading.finditer(_plain(text)))
        if name in _DOUBTFUL and spoken:
            return UnderstoodPrompt(kind="readback", text=text, readings=self._readings(spoken))
        if name in HOLDS and (fact := self._fact.fullmatch(values["said"])):
            values |= _found(fact)
        return UnderstoodPrompt(kind=name, text=text, values=values)

    def _waiting(self, text: str, plain: str) -> UnderstoodPrompt:
        """Matches an example of an answer, perhaps after something else ('Dropped. Say ...')."""
        dropped = self._sentences("dropped")[0].lower()
        rest = plain.removeprefix(dropped).strip()
        for name, pattern in self._waits:
            if match := pattern.fullmatch(rest):
                values = {"name": name, **_found(match)}
                return UnderstoodPrompt(kind="wait", text=text, values=values)
        return UnderstoodPrompt(kind="", text=text)

    def _group_of(self, plain: str) -> tuple[tuple[Step, Subject], ...] | None:
        """The steps and subjects of a question for several steps; None for any other text."""
        for name in _GROUPS:
            if re.search(self._group_end(name), plain):
                waits = _GROUPS[name]
                listed = [step for step in self._items if _plain(step.item or "") in plain]
                return tuple(
                    (step, subject)
                    for step in listed
                    for subject in subjects(step.for_each, self._opening)
                    if step.waits == waits
                )
        return None

    def _group_end(self, name: str) -> str:
        """The end of the question, with or without the words that answer it."""
        values = name in _OF_VALUES
        asks = _plain(self._sentences(name)[0]).removeprefix("{items}").strip()
        answers = _plain(self._sentences("group_same_help" if values else f"{name}_help")[0])
        ending = re.escape(asks)
        for place in ("{subject}", "{items}"):
            ending = ending.replace(re.escape(place), ".+")
        return rf"{ending}?( {re.escape(answers)})?$"

    def _learn(self, step: Step, subject: Subject) -> None:
        spoken = self._words.subject(subject)

        def filled(text: str | None) -> str:
            return (text or "").format(subject=spoken)

        prompt = filled(step.prompt)
        if step.quantity is Quantity.OPENING_TIME:
            late = self._words.say("opening_to_eighty", subject=spoken)
            self._prompts.setdefault(_plain(late), ("prompt", step, subject))
        for text in (prompt, filled(step.brief)):
            self._prompts.setdefault(_plain(text), ("prompt", step, subject))
        if step.caution is not None:
            ask = prompt
            if step.waits != "caution":
                word = self._words.name("word", step.word or "")
                ask = self._words.say("wait_caution", word=word)
            said = self._words.say("caution", caution=filled(step.caution), ask=ask)
            self._prompts[_plain(said)] = ("caution", step, subject)
        if step.adjust is not None:
            said = self._words.say("adjust", what=_sentence(filled(step.adjust)))
            self._prompts.setdefault(_plain(said), ("adjust", step, subject))

    def _learn_listed(self, procedure: Procedure) -> None:
        """Learns the questions for several values of a leaf, represented by the first of them."""
        groups: dict[tuple[str, Subject], list[Step]] = {}
        for step in procedure.steps:
            if step.group is not None and step.quantity in LISTED:
                for subject in subjects(step.for_each, self._opening):
                    groups.setdefault((step.group, subject), []).append(step)
        for (_, subject), steps in groups.items():
            for brief in (True, False):
                asked = question(self._words, procedure, steps, subject, brief=brief)
                self._prompts[_plain(asked)] = ("prompt", steps[0], subject)

    def _sentences(self, name: str) -> list[str]:
        text = self._words.sentences.get(name)
        if text is None:
            return []
        return [str(one) for one in text] if isinstance(text, list) else [str(text)]

    def _start(self, name: str) -> str:
        """The beginning of a sentence, up to its first value."""
        return _plain(self._sentences(name)[0]).split("{", maxsplit=1)[0]

    # --- readbacks

    def _reading_pattern(self) -> re.Pattern[str]:
        w = self._words
        subjects = "|".join(re.escape(w.subject(s)) for s in Subject)
        quantities = "|".join(
            sorted((re.escape(w.quantity(q)) for q in Quantity), key=len, reverse=True)
        )
        number, unit = self._values.number, self._values.unit
        return re.compile(
            rf"(?:(?P<subject>{subjects}), )?(?P<quantity>{quantities}),? "
            rf"(?P<number>{number})(?:,? (?P<unit>{unit}))?(?=[., ]|$)"
        )

    def _value_pattern(self) -> re.Pattern[str]:
        """Matches a value without its name: 'Six point two.', 'Eighty four inches.'"""
        number, unit = self._values.number, self._values.unit
        return re.compile(rf"(?P<number>{number})(?:,? (?P<unit>{unit}))?[.]?")

    def _bare(self, plain: str) -> ReadBackHeard | None:
        match = self._value.fullmatch(plain)
        value = self._values.value(match["number"], match["unit"]) if match else None
        if match is None or value is None:
            return None
        unit = self._values.unit_of(match["unit"])
        return ReadBackHeard(subject=None, quantity=None, value=value, unit=unit)

    def _answers(self, procedure: Procedure) -> frozenset[str]:
        """The readbacks of the answers of choices and observations."""
        said = {option.say for step in procedure.steps for option in step.options}
        w = self._words
        alone = (w.name("word", each).lower() for each in _OBSERVED[:2])  # 'Pass.' is a verdict
        return frozenset({*said, self._all_good, *alone})

    def _fact_pattern(self, procedure: Procedure) -> re.Pattern[str]:
        """Matches 'Motor one, leaf, left leaf.' or 'Left leaf and right leaf, swings freely, in
        order.'
        """
        w = self._words
        subjects = "|".join(re.escape(w.subject(s)) for s in Subject)
        names = {
            step.called or step.fact.replace("_", " ") for step in procedure.steps if step.fact
        }
        values = {option.say for step in procedure.steps for option in step.options}
        values |= {w.name("word", each).lower() for each in _OBSERVED}
        called, said = (
            "|".join(sorted(map(re.escape, each), key=len, reverse=True))
            for each in (names, values)
        )
        also = re.escape(w.name("word", "and"))
        return re.compile(
            rf"(?:(?P<about>(?:{subjects})(?: {also} (?:{subjects}))?), )?"
            rf"(?P<name>{called}), (?P<value>{said})[.]?"
        )

    def _readings(self, plain: str) -> tuple[ReadBackHeard, ...]:
        """The readings of a readback; empty for any other text."""
        found: list[ReadBackHeard] = []
        subject: Subject | None = None
        rest = plain
        while rest:
            match = self._reading.match(rest)
            value = self._values.value(match["number"], match["unit"]) if match else None
            if match is None or value is None:
                return ()
            said = match["subject"]
            subject = self._subjects[said] if said else subject
            found.append(
                ReadBackHeard(
                    subject=subject,
                    quantity=self._quantities[match["quantity"]],
                    value=value,
                    unit=self._values.unit_of(match["unit"]),
                )
            )
            rest = rest[match.end() :].lstrip(" .,")
        return tuple(found)


def read(texts: Iterable[str], listener: PromptListener) -> list[UnderstoodPrompt]:
    """Understands every text of a turn."""
    return [listener.understand(text) for text in texts]


def _plain(text: str) -> str:
    return " ".join(text.lower().split())


def _sentence(text: str) -> str:
    return text[:1].upper() + text[1:] + ("" if text.endswith((".", "?", "!")) else ".")


def _found(match: re.Match[str]) -> dict[str, str]:
    return {name: value for name, value in match.groupdict().items() if value is not None}


def _pattern(template: str, *, whole: bool = True) -> re.Pattern[str]:
    """A sentence with placeholders as a pattern; the final period is optional."""
    escaped = re.escape(_plain(template))
    seen: set[str] = set()
    for name in placeholders(template):
        escaped = escaped.replace(re.escape("{" + name + "}"), f"(?P<{name}>.+?)", 1)
        escaped = escaped.replace(re.escape("{" + name + "}"), f"(?P={name})")
        seen.add(name)
    if not whole:
        # A placeholder at the end extends to the end of its clause.
        return re.compile(re.sub(r"\.\+\?\)$", "[^,]+)", escaped))
    return re.compile(escaped.removesuffix(re.escape(".")) + r"[.]?")
