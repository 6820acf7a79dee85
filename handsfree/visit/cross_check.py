"""Manages the second ear during a visit: its utterances, its results, and when to give it up."""

from __future__ import annotations

import time
from concurrent.futures import CancelledError, Future
from dataclasses import dataclass
from typing import TYPE_CHECKING

from handsfree.dialogue import second_opinion
from handsfree.dialogue.state import Keep, Reply, SecondHeard, State
from handsfree.errors import SecondEarError
from handsfree.job.visit_fact import VISIT_FACTS
from handsfree.journal import events as ev
from handsfree.journal.paper_events import VisitFactKept
from handsfree.language.interpreter import Language
from handsfree.language.meaning import Meaning
from handsfree.language.transcript_words import transcript_words
from handsfree.second_ear.port import SecondEar

if TYPE_CHECKING:  # not available on a phone
    import numpy as np
    from numpy.typing import NDArray

MOST_LATE_ANSWERS = 3
"""Number of consecutive values answered before the second ear was done, after which it counts as
too slow.
"""
RECORDING_WAIT_S = 30.0
"""Longest time that a recording waits for one value (s); an ear gives up sooner."""
LAST_WAIT_S = 5.0
"""Longest time that the end of a visit waits for words still being transcribed (s)."""


@dataclass(frozen=True)
class _Given:
    """An utterance given to the ear: its event number, the time, and the future text."""

    heard: int
    since_s: float
    text: Future[str]


class CrossCheck:
    """Checks one value at a time and transcribes any number of free words.

    No call waits longer than its argument allows. ``lost`` reports a lost or slow ear once, and it
    gets nothing afterwards. Without an ear nothing happens.
    """

    def __init__(self, ear: SecondEar | None, language: Language) -> None:
        self._ear, self._language = ear, language
        self._value: _Given | None = None
        self._words: list[_Given] = []
        self._late = 0
        self._why: SecondEarError | None = None

    def give(
        self,
        heard: int,
        samples: NDArray[np.int16],
        meaning: Meaning | None,
        turn: tuple[State, tuple[Reply, ...]],
    ) -> None:
        """Starts on the utterance of event ``heard`` if its turn reads a value back or stores its
        words.
        """
        if self._ear is None:
            return
        state, replies = turn
        waits = second_opinion.waits(state) or second_opinion.is_incomplete(state)
        if second_opinion.values_in(meaning) and waits:
            self.drop_value()  # of an answer that was echoed, and followed by this one
            if self._ear is None:
                return
            self._value = _Given(heard, time.monotonic(), self._ear.begin(samples))
        elif any(isinstance(reply, Keep) and _in_free_words(reply.body) for reply in replies):
            self._words.append(_Given(heard, time.monotonic(), self._ear.begin(samples)))

    def value(
        self, state: State, since_given_s: float, *, late: bool
    ) -> tuple[SecondHeard, ev.SecondHeard] | None:
        """Returns what the ear heard in the last value, for the conversation and for the journal.

        Waits until ``since_given_s`` after the value was given, or not at all if that has passed.
        None if nothing was heard yet.
        """
        given = self._value
        if given is None:
            return None
        text = self._text(given, given.since_s + since_given_s - time.monotonic())
        if text is None:
            return None
        self._value, self._late = None, 0
        words = transcript_words(self._language, text)
        meaning = self._language.parse(words)
        outcome = second_opinion.outcome(state, meaning)
        kept = ev.SecondHeard(heard=given.heard, text=text, words=words, outcome=outcome, late=late)
        return SecondHeard(meaning=meaning, late=late), kept

    def drop_value(self) -> None:
        """Drops the current value after its answer; an outstanding result counts as late."""
        if self._value is None:
            return
        self._value.text.cancel()
        self._value = None
        self._late += 1
        if self._late >= MOST_LATE_ANSWERS and self._ear is not None:
            self._lose(SecondEarError("it is too slow on this computer"))

    def typed_up(self, wait_s: float = 0.0) -> tuple[ev.TypedUp, ...]:
        """Returns newly transcribed words, waiting at most ``wait_s`` for all of them."""
        until_s = time.monotonic() + wait_s
        done: list[ev.TypedUp] = []
        for given in tuple(self._words):
            text = self._text(given, until_s - time.monotonic())
            if text is not None and given in self._words:
                self._words.remove(given)
                if text:
                    done.append(ev.TypedUp(heard=given.heard, text=text))
        return tuple(done)

    def lost(self) -> SecondEarError | None:
        """Returns why the ear was lost, once."""
        why, self._why = self._why, None
        return why

    def _text(self, given: _Given, wait_s: float) -> str | None:
        try:
            return given.text.result(max(0.0, wait_s))
        except (TimeoutError, CancelledError):
            return None
        except SecondEarError as error:
            self._lose(error)
            return None

    def _lose(self, why: SecondEarError) -> None:
        if self._ear is None:
            return
        self._ear.close()
        self._ear, self._why, self._value = None, why, None
        self._words.clear()


def _in_free_words(body: ev.Body) -> bool:
    """True if an event stores words verbatim: a note, the reason for a skip, a visit fact."""
    if isinstance(body, VisitFactKept):
        return VISIT_FACTS[body.name].takes == "words"
    return isinstance(body, ev.NoteKept) or (
        isinstance(body, ev.StepEnded) and body.reason is not None
    )
