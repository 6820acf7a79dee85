"""Operates a simulated controller by spoken instructions, with human mistakes."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from random import Random

from handsfree.controllers.guide import Guide, SetUpStep
from handsfree.language.wording import Wording
from handsfree.rehearsal.simulated_controller import SimulatedController

MISTAKES = ("wrong hand", "skipped save", "learn failed", "leaf blocked")
_SAY = {
    "en": ("next", "it shows {code}", "it blinks {code}", "clear", "affirm", "negative"),
    "es": ("siguiente", "muestra {code}", "parpadea {code}", "despejado", "afirmativo", "negativo"),
}


@dataclass
class ControllerHands:
    """A technician at the controller who follows only spoken words.

    Each of ``mistakes`` is made once. ``looks`` is the probability that the display is read out
    after an entry (0 to 1). ``made`` lists the mistakes made so far.
    """

    controller: SimulatedController
    words: Wording
    random: Random
    mistakes: set[str]
    looks: float = 0.5
    made: list[str] = field(default_factory=list)
    _shown: str | None = None
    _learning: bool = False

    def answer(self, texts: list[str]) -> str | None:
        """The answer to these sentences; None if they are not about the controller."""
        for text in reversed(texts):
            if (said := self._answer(text)) is not None:
                return said
        return None

    def _answer(self, text: str) -> str | None:
        guide, w = self.controller.guide, self.words
        done, _, _, clear, yes, no = _SAY[w.language]
        if text == w.say("guide_learn_clear"):
            return clear
        if (before := guide.learn.before) and text.startswith(before[0]):
            return done
        if text.startswith(guide.learn.start):
            self._shown = self._learn()
            return done
        if guide.learn.success.say in text or text == w.say("guide_what_shows"):
            return self._says(self._shown) if self._shown else yes
        if match := re.fullmatch(_blank(w.say("guide_code", code="CODE"), "CODE"), text):
            heard = match[1].lower()
            return yes if self._shown is not None and heard == self._spelled(self._shown) else no
        for step in guide.set_up:
            if (said := self._enter(step, text)) is not None:
                return said
        return None

    def _enter(self, step: SetUpStep, text: str) -> str | None:
        done = _SAY[self.words.language][0]
        if not step.value:
            if step.say is None or step.say not in text:
                return None
            saves = any(other.saved_by == step.id for other in self.controller.guide.set_up)
            if saves and self._slips("skipped save"):
                return done
            self._shown = self.controller.do(step.id)
            return self._maybe_says(step, text)
        value = self._value(step, text)
        if value is None:
            return None
        if step.id.startswith("hand") and self._slips("wrong hand"):
            value = next(each.say for each in step.value if each.say != value)
        self._shown = self.controller.enter(step.id, value)
        return self._maybe_says(step, text)

    def _value(self, step: SetUpStep, text: str) -> str | None:
        """The value that a sentence asks for at a step."""
        w, guide = self.words, self.controller.guide
        called = step.called or step.name
        for value in step.value:
            control = guide.control(step.control)
            if control is not None:
                asked = control.enter.format(called=called, value=value.say)
            elif step.before is not None:
                asked = w.say("guide_set_then", value=value.say)
            else:
                asked = w.say("guide_set", called=called, value=value.say)
            here = called.lower() in text.lower()
            if here and asked.lower().rstrip(".") + "." in text.lower():
                return value.say
        return self._corrected(step, text)

    def _corrected(self, step: SetUpStep, text: str) -> str | None:
        """The corrected value, if the last one shown was called wrong."""
        if self._shown not in [value.mark for value in step.value] or self._shown is None:
            return None
        shown = self._spelled(self._shown).capitalize()
        entered = self.controller.entered.get(step.id, "")
        for value in step.value:
            named = self.words.say("guide_wrong_value", code=shown, value=entered, wanted=value.say)
            if text == named:
                return value.say
        return None

    def _maybe_says(self, step: SetUpStep, text: str) -> str:
        done = _SAY[self.words.language][0]
        named_wrong = self._shown is not None and text.startswith(self._spelled(self._shown))
        if self._shown is not None and (named_wrong or self.random.random() < self.looks):
            return self._says(self._shown)
        return done

    def _learn(self) -> str | None:
        blocked = self._slips("leaf blocked")
        breaks = not blocked and self._slips("learn failed")
        return self.controller.learn(blocked=blocked, breaks_off=breaks)

    def _slips(self, mistake: str) -> bool:
        """Makes a mistake if it is still due."""
        shows = mistake in ("wrong hand", "skipped save") or not self.controller.wrong
        if mistake not in self.mistakes or not shows:
            return False
        self.mistakes.discard(mistake)
        self.made.append(mistake)
        return True

    def _says(self, mark: str) -> str:
        _, shows, blinks, *_ = _SAY[self.words.language]
        template = blinks if mark.endswith(" blinks") else shows
        return template.format(code=self._spelled(mark))

    def _spelled(self, mark: str) -> str:
        words, w = {**self.words.names["letter"], **self.words.names["digit"]}, self.words
        if mark.endswith(" blinks"):
            counts = mark.removesuffix(" blinks").split()
            times = [w.say("blink_times", count=int(n), n=w.digits(n)) for n in counts]
            return w.say("blink_then").join(times)
        return " ".join(str(words[sign]) for sign in mark.lower())


def mistakes_named(guide: Guide, w: Wording, said: list[str]) -> dict[str, int]:
    """Counts how often the tool's sentences named each kind of mistake."""
    kinds = {"hand": "wrong hand", "learn_stops_early": "leaf blocked"}
    kinds["learn_ends_in_error"] = "learn failed"
    saves = {step.saved_by for step in guide.set_up} - {None}
    found = dict.fromkeys(MISTAKES, 0)
    hands = [step for step in guide.set_up if step.id.startswith("hand")]
    for text in said:
        for code in guide.codes:
            if code.means not in text or code.remedy not in text:
                continue
            if code.entry in saves:
                found["skipped save"] += 1
            elif (code.entry or "").startswith("hand"):
                found["wrong hand"] += 1
            elif code.search in kinds:
                found[kinds[code.search]] += 1
        for step in hands:
            for value in step.value:
                other = next(each for each in step.value if each.say != value.say)
                if value.mark is None:
                    continue
                letters = {**w.names["letter"], **w.names["digit"]}
                spelled = " ".join(str(letters[sign]) for sign in value.mark.lower())
                named = w.say(
                    "guide_wrong_value",
                    code=spelled.capitalize(),
                    value=value.say,
                    wanted=other.say,
                )
                found["wrong hand"] += text == named
    return found


def _blank(sentence: str, word: str) -> str:
    """A sentence as a pattern, with a group in place of the word."""
    return re.escape(sentence).replace(word, "(.+?)")
