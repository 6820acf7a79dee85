"""Recognizes an utterance a second time, against the expected answers, one quantity's readings, or
a controller's codes.

The full grammar is wide, so a strict comparison with other speech keeps out words not addressed to
the tool. If the conversation expects one of a few answers and nothing was understood, the same
sound is compared more leniently with only those answers. If 'all good' and 'no good' are then about
equally likely, neither is taken.

An understood reading is also compared with all readings of its quantity and their costs, because
one digit more or less makes little difference in sound.
"""

from __future__ import annotations

from functools import cached_property
from pathlib import Path
from typing import Literal

from handsfree.job.quantity import Quantity
from handsfree.language.interpreter import CODES, Language
from handsfree.recognition.grammar_model import recognizer_for
from handsfree.recognition.graph_compiler import Costs
from handsfree.recognition.recognizer import Samples, VoskRecognizer
from handsfree.recognition.speech_model import SpeechModel
from handsfree.sample_rate import SAMPLE_RATE_HZ

AT_ONCE = Costs(other_speech=7.0, other_phone=2.2)
"""Costs for answers that take effect at once: a value is filed, a step ends."""
READ_BACK = Costs(other_speech=10.0, other_phone=2.2)
"""Costs for answers that are read back before they count. This and AT_ONCE were chosen on held-out
material (docs/speech-model.md).
"""
READING = Costs(other_speech=13.0, other_phone=2.2)
"""Costs for a reading of the expected quantity, which is read back too."""
CODE = Costs(word=4.0, other_speech=19.0, other_phone=2.2)
"""Costs for what a controller shows. A dearer word keeps a sign that nobody said from being heard
between two others; chosen on voices kept for it (docs/controllers.md)."""
LONGEST_S = 2.4
"""Longest answer that is tried (s), including about a second of silence around it. A longer
utterance is usually not an answer.
"""
LONGEST_READING_S = 4.5
"""Longest reading or code that is tried (s), with the silence around it."""
WITHIN = 8.0
"""Margin over the likeliest reading within which others are listed (nats); a wider one is slow."""
_MOST, _MOST_CODES = 60, 12


Narrow = Costs | Quantity | Literal["codes"]
"""Contents of a narrow grammar: the answers at these costs, the readings of a quantity, or a
controller's codes.
"""


class ConstrainedRetry:
    """A second recognition with a narrow grammar; it opens the model on first use.

    A dynamic model has no cost for other speech, so it cannot do this. Only the last grammar stays
    open, because each takes 31 MB (Vosk loads the acoustic model with it) and 0.15 to 0.3 s of
    processor time, and steps come in order.
    """

    def __init__(self, language: Language, folder: Path | str | None = None) -> None:
        self._language, self._folder = language, folder
        self._opened: tuple[Narrow, VoskRecognizer] | None = None

    def text(self, samples: Samples, *, read_back: bool, quantity: Quantity | None = None) -> str:
        """Returns what one whole utterance (mono, 16 kHz) says, or an empty text.

        ``read_back`` is true if the answer is read back before it counts; ``quantity`` is the
        quantity whose reading is expected. Raises ModelError if the model cannot be opened.
        """
        longest_s = LONGEST_S if quantity is None else LONGEST_READING_S
        if len(samples) > longest_s * SAMPLE_RATE_HZ:
            return ""
        if quantity is None:
            recognizer = self._recognizer(READ_BACK if read_back else AT_ONCE)
        else:
            recognizer = self._recognizer(quantity)
        return recognizer.recognize(samples).text if recognizer is not None else ""

    def codes(self, samples: Samples) -> tuple[tuple[str, float], ...]:
        """Lists what one whole utterance (mono, 16 kHz) may say that a controller shows.

        Each comes with its cost in nats, the likeliest first; other speech is among them. Every
        code costs the same, whether a guide knows it or not. Empty for an utterance that is too
        long and for a dynamic model. Raises ModelError if the model cannot be opened.
        """
        if len(samples) > LONGEST_READING_S * SAMPLE_RATE_HZ:
            return ()
        recognizer = self._recognizer("codes")
        if recognizer is None:
            return ()
        found = recognizer.alternatives(samples, _MOST_CODES)
        return tuple((each.heard.text, each.cost) for each in found)

    def readings(self, samples: Samples, quantity: Quantity) -> tuple[tuple[str, float], ...]:
        """Lists the readings of a quantity that one whole utterance (mono, 16 kHz) may be.

        Each comes with its cost in nats, the likeliest first; costs of several quantities compare.
        Empty for an utterance that is too long and for a dynamic model. Raises ModelError.
        """
        if len(samples) > LONGEST_READING_S * SAMPLE_RATE_HZ:
            return ()
        recognizer = self._recognizer(quantity)
        if recognizer is None:
            return ()
        found = recognizer.alternatives(samples, _MOST)
        return tuple((each.heard.text, each.cost) for each in found)

    @cached_property
    def _model(self) -> SpeechModel:
        return SpeechModel.load(self._folder, self._language.wording.language)

    def _recognizer(self, narrow: Narrow) -> VoskRecognizer | None:
        if self._model.kind == "dynamic":
            return None
        if self._opened is None or self._opened[0] != narrow:
            self._opened = None  # before another is loaded next to it
            self._opened = narrow, self._open(narrow)
        return self._opened[1]

    def _open(self, narrow: Narrow) -> VoskRecognizer:
        if isinstance(narrow, Costs):
            automaton = self._language.automaton("answer")
            parse = self._language.parse
            return recognizer_for(self._model, automaton, narrow, meaning=parse, opposites_far=True)
        if narrow == "codes":
            automaton = self._language.automaton(CODES)
            return recognizer_for(self._model, automaton, CODE, lattice_beam=WITHIN)
        automaton = self._language.reading_automaton(narrow)
        return recognizer_for(self._model, automaton, READING, lattice_beam=WITHIN)
