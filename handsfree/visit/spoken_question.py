"""Asks questions by voice or keyboard before a visit: numbered answers, or spelled texts."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from decimal import Decimal

from handsfree.language.interpreter import Language
from handsfree.language.meaning import Meaning, ReadingSaid, Word
from handsfree.language.visit_fact_words import spelled_out
from handsfree.recognition.port import Ears, SourceFault, Utterance
from handsfree.synthesis.port import Mouth

Show = Callable[[str, str], None]
"""Shows a line: the speaker's name ('who_tool', 'who_heard') and the text."""
Refuse = Callable[[str], str]
"""Says why a text is not an answer; '' if it is one."""
READ_ALOUD = 9
"""Largest number of answers that are read aloud; nobody listens to a longer list."""


class SpokenQuestion:
    """A question before a visit, with its ears and mouth.

    A spoken answer is read back and counts after 'affirm'; a typed one counts at once.
    """

    def __init__(self, ears: Ears, mouth: Mouth, language: Language, show: Show) -> None:
        self._ears, self._mouth, self._language, self._show = ears, mouth, language, show

    def ask(
        self,
        question: str,
        answers: Sequence[str] = (),
        *,
        refuse: Refuse | None = None,
        skips: bool = False,
        shown: int | None = None,
    ) -> int | str | None:
        """The index of the chosen answer, or a text; None after 'stop' or at the end of the input.

        The first ``shown`` answers are read aloud, at most nine; any can be chosen by its number,
        or by typing a part of it. With ``refuse`` a text is an answer too, spelled or typed. With
        ``skips``, 'skip' gives ''.
        """
        asked = [question, *self._listed(answers, shown)]
        self._say(*asked)
        proposed: int | str | None = None
        while (heard := self._listen()) is not None:
            meaning = self._language.parse(heard.text)
            if proposed is not None and _is(meaning, "affirm"):
                return proposed
            if proposed is not None and _is(meaning, "correct"):
                self._say(self._read_back(proposed, answers))
                continue
            if _is(meaning, "stop"):
                return None
            if skips and _is(meaning, "skip", "dont_know"):
                return ""
            steers = _is(meaning, "say_again", "negative", "disregard")
            chosen = None if steers else self._answer(heard, meaning, answers, refuse)
            why = refuse(chosen) if refuse is not None and isinstance(chosen, str) else ""
            if why:
                chosen = None
                self._show("who_tool", why)
            if chosen is not None and heard.typed:
                return chosen
            proposed = chosen
            if chosen is not None:
                self._say(self._read_back(chosen, answers))
            elif steers:
                self._say(*asked)
            else:
                self._say(self._hint(len(answers), refuse is not None, skips))
        return None

    def tell(self, text: str) -> None:
        """Shows and speaks a text that needs no answer."""
        self._say(text)

    def _answer(
        self,
        heard: Utterance,
        meaning: Meaning | None,
        answers: Sequence[str],
        refuse: Refuse | None,
    ) -> int | str | None:
        """The answer given in an utterance; None for anything else."""
        if (index := _index(meaning, len(answers))) is not None:
            return index
        text = " ".join(heard.text.split())
        if heard.typed:
            named = [at for at, each in enumerate(answers) if text.lower() in each.lower()]
            if len(named) == 1 and not text.isdecimal():
                return named[0]
        if refuse is None:
            return None
        if heard.typed:
            return text
        # A number beyond the list was meant for the list: no name is spelled with digits alone.
        return None if answers and _number(meaning) is not None else self._language.spelled(text)

    def _listed(self, answers: Sequence[str], shown: int | None) -> list[str]:
        w = self._language.wording
        listed = answers[: min(READ_ALOUD, len(answers) if shown is None else shown)]
        lines = [self._numbered(at, each) + "." for at, each in enumerate(listed)]
        if (more := len(answers) - len(listed)) > 0:
            lines.append(w.say("numbered_more", count=more))
        return lines

    def _numbered(self, index: int, answer: str) -> str:
        return f"{self._language.wording.cardinal(index + 1)}: {answer}"

    def _read_back(self, chosen: int | str, answers: Sequence[str]) -> str:
        w = self._language.wording
        if isinstance(chosen, int):
            return w.say("numbered_read_back", answer=self._numbered(chosen, answers[chosen]))
        return w.say("spelled_read_back", answer=spelled_out(w, chosen))

    def _hint(self, count: int, spells: bool, skips: bool) -> str:
        """The possible answers, after something that is not an answer."""
        w = self._language.wording
        hints = [w.say("spelled_hint")] if spells else []
        if count:
            hints.insert(0, w.say("numbered_hint", count=count, last=w.cardinal(count)))
        if skips:
            hints.append(w.say("skip_hint"))
        return " ".join(hints)

    def _listen(self) -> Utterance | None:
        """The next utterance; reports faults of the microphone and waits through silence."""
        while (event := self._ears.listen()) is not None:
            if isinstance(event, Utterance):
                self._show("who_heard", event.text)
                return event
            if isinstance(event, SourceFault):
                self._say(self._language.wording.say(f"fault_{event.what}"))
        return None

    def _say(self, *texts: str) -> None:
        """Shows all of the texts, and speaks them until interrupted."""
        for text in texts:
            self._show("who_tool", text)
        for text in texts:
            if self._mouth.say(text).cut:
                return


def _is(meaning: Meaning | None, *kinds: str) -> bool:
    return isinstance(meaning, Word) and meaning.kind in kinds


def _index(meaning: Meaning | None, count: int) -> int | None:
    """The index meant by a bare number; None for anything else."""
    number = _number(meaning)
    return int(number) - 1 if number is not None and number in range(1, count + 1) else None


def _number(meaning: Meaning | None) -> Decimal | None:
    """The value of a bare number; None for anything else."""
    match meaning:
        case ReadingSaid(subject=None, quantity=None, unit=None, value=value):
            return value
        case _:
            return None
