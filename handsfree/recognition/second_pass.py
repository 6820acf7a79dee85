"""Decodes an utterance a second time, against the expected answers, one quantity's readings, or a
controller's codes.

The full grammar is wide, so a strict comparison with other speech rejects words that are not
addressed to the tool. If the conversation expects one of a few answers and nothing was understood,
the same sound is compared with only those answers, and other speech costs more. If 'all good' and
'no good' are then about equally likely, neither is accepted.

An understood reading is also compared with all readings of its quantity and their costs, because
one digit more or less makes little difference in sound.

It needs no numpy and no recognizer; a subclass has one.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Callable, Sized
from typing import Generic, Literal, TypeVar, get_args

from handsfree.job.quantity import Quantity
from handsfree.language.automaton import Automaton
from handsfree.language.interpreter import CODES, Language
from handsfree.recognition.close_calls import COMPARED, Alternative, reject_close_call
from handsfree.recognition.graph_compiler import Costs
from handsfree.sample_rate import SAMPLE_RATE_HZ

AT_ONCE = Costs(other_speech=7.0, other_phone=2.2)
"""Costs for answers that take effect at once: a value is filed, a step ends."""
READ_BACK = Costs(other_speech=10.0, other_phone=2.2)
"""Costs for answers that are read back before they count. This and AT_ONCE were chosen on voices,
speakers and noises kept apart from the training (docs/speech-model.md).
"""
READING = Costs(other_speech=13.0, other_phone=2.2)
"""Costs for a reading of the expected quantity, which is read back too."""
CODE = Costs(word=4.0, other_speech=22.0, other_phone=2.2)
"""Costs for a code that a controller shows. A higher cost of a word keeps a character that nobody
said from being heard between two others; chosen on development voices (docs/controllers.md).
"""
LONGEST_S = 2.4
"""Longest answer that is tried (s), including about a second of silence around it. A longer
utterance is usually not an answer.
"""
LONGEST_READING_S = 4.5
"""Longest reading or code that is tried (s), with the silence around it."""
WITHIN = 8.0
"""Margin over the likeliest reading within which others are listed (nats); a wider one is slow."""
_MOST, _MOST_CODES = 60, 12

NarrowWords = Literal["at once", "read back", "codes"]
NARROW_WORDS: tuple[NarrowWords, ...] = get_args(NarrowWords)
NarrowGrammar = NarrowWords | Quantity
"""The content of a narrow grammar: the answers, at one of two costs; the codes of a controller; or
the readings of a quantity.
"""

Sound = TypeVar("Sound", bound=Sized)


def grammar_of(narrow: NarrowGrammar, language: Language) -> tuple[Automaton, Costs, float | None]:
    """Returns the sentences of a narrow grammar, its costs, and its own lattice beam if any."""
    match narrow:
        case "at once":
            return language.automaton("answer"), AT_ONCE, None
        case "read back":
            return language.automaton("answer"), READ_BACK, None
        case "codes":
            return language.automaton(CODES), CODE, WITHIN
        case quantity:
            return language.reading_automaton(quantity), READING, WITHIN


class SecondPass(ABC, Generic[Sound]):
    """A second pass with a narrow grammar; the length of a sound is its number of samples (16 kHz).

    ``meaning`` maps a sentence to its meaning, None if it is not a sentence.
    """

    def __init__(self, meaning: Callable[[str], object]) -> None:
        self._meaning = meaning

    @abstractmethod
    def alternatives(
        self, sound: Sound, narrow: NarrowGrammar, most: int
    ) -> tuple[Alternative, ...]:
        """Lists up to ``most`` alternatives of one whole utterance with a narrow grammar, likeliest
        first; () without a recognizer for it.
        """
        ...

    def text(self, sound: Sound, *, read_back: bool, quantity: Quantity | None = None) -> str:
        """Returns what one whole utterance says, or an empty text.

        ``read_back`` is true if the answer is read back before it counts; ``quantity`` is the
        quantity whose reading is expected.
        """
        if quantity is not None:
            found = self._listed(sound, quantity, 1)
            return found[0].heard.text if found else ""
        if _too_long(sound, LONGEST_S):
            return ""
        found = self.alternatives(sound, "read back" if read_back else "at once", COMPARED)
        return (
            reject_close_call(found, self._meaning, reject_near_opposites=True).text
            if found
            else ""
        )

    def codes(self, sound: Sound) -> tuple[tuple[str, float], ...]:
        """Lists the codes of a controller that one whole utterance may say.

        Each comes with its cost in nats, the likeliest first; other speech is among them. Every
        code costs the same, whether a guide knows it or not. Empty for an utterance that is too
        long and for a dynamic model.
        """
        return _costs(self._listed(sound, "codes", _MOST_CODES))

    def readings(self, sound: Sound, quantity: Quantity) -> tuple[tuple[str, float], ...]:
        """Lists the readings of a quantity that one whole utterance may be.

        Each comes with its cost in nats, the likeliest first; the costs of different quantities are
        comparable. Empty for an utterance that is too long and for a dynamic model.
        """
        return _costs(self._listed(sound, quantity, _MOST))

    def _listed(self, sound: Sound, narrow: NarrowGrammar, most: int) -> tuple[Alternative, ...]:
        if _too_long(sound, LONGEST_READING_S):
            return ()
        return self.alternatives(sound, narrow, most)


def _costs(found: tuple[Alternative, ...]) -> tuple[tuple[str, float], ...]:
    return tuple((each.heard.text, each.cost) for each in found)


def _too_long(sound: Sized, longest_s: float) -> bool:
    return len(sound) > longest_s * SAMPLE_RATE_HZ
