"""Hears an utterance a second time against the expected answers, or against one quantity's
readings.

The whole grammar is wide, so a strict comparison with other speech keeps out what is not addressed
to the tool. If the conversation expects one of a few answers and nothing was understood, the same
sound is compared more leniently, with those answers alone.

An understood reading is compared once more too, with all readings of its quantity and their costs:
one digit more or less differs by little.
"""

from __future__ import annotations

from pathlib import Path

from handsfree.job.quantity import Quantity
from handsfree.language.automaton import Automaton
from handsfree.language.interpreter import Language
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
LONGEST_S = 2.4
"""Longest answer that is tried (s), with the silence around it, about a second. A longer utterance
is usually somebody else's sentence.
"""
LONGEST_READING_S = 4.5
"""Longest reading that is tried (s), with the silence around it."""
WITHIN = 8.0
"""Margin over the likeliest reading within which others are listed (nats); a wider one is slow."""
_MOST = 60


class ConstrainedRetry:
    """A second recognition with a narrow grammar; it opens the model on first use.

    A dynamic model has no cost for other speech, so it gives no second hearing. Only the grammar of
    the last quantity stays open, at some 15 MB: steps come in order.
    """

    def __init__(self, language: Language, folder: Path | str | None = None) -> None:
        self._language, self._folder = language, folder
        self._opened: dict[Costs, VoskRecognizer | None] = {}
        self._reading: tuple[Quantity, VoskRecognizer | None] | None = None

    def text(self, samples: Samples, *, read_back: bool, quantity: Quantity | None = None) -> str:
        """Returns what one whole utterance (mono, 16 kHz) says, or an empty text.

        ``read_back`` is whether the answer is read back before it counts; ``quantity`` is the
        quantity whose reading is expected. Raises ModelError if the model cannot be opened.
        """
        longest_s = LONGEST_S if quantity is None else LONGEST_READING_S
        if len(samples) > longest_s * SAMPLE_RATE_HZ:
            return ""
        if quantity is None:
            recognizer = self._answers(READ_BACK if read_back else AT_ONCE)
        else:
            recognizer = self._readings(quantity)
        return recognizer.recognize(samples).text if recognizer is not None else ""

    def readings(self, samples: Samples, quantity: Quantity) -> tuple[tuple[str, float], ...]:
        """Lists the readings of a quantity that one whole utterance (mono, 16 kHz) may be.

        Each comes with its cost in nats, the likeliest first; costs of several quantities compare.
        Empty for an utterance that is too long and for a dynamic model. Raises ModelError.
        """
        if len(samples) > LONGEST_READING_S * SAMPLE_RATE_HZ:
            return ()
        recognizer = self._readings(quantity)
        if recognizer is None:
            return ()
        found = recognizer.alternatives(samples, _MOST)
        return tuple((each.heard.text, each.cost) for each in found)

    def _answers(self, costs: Costs) -> VoskRecognizer | None:
        if costs not in self._opened:
            self._opened[costs] = self._open(self._language.automaton("answer"), costs)
        return self._opened[costs]

    def _readings(self, quantity: Quantity) -> VoskRecognizer | None:
        if self._reading is None or self._reading[0] is not quantity:
            automaton = self._language.reading_automaton(quantity)
            self._reading = (quantity, self._open(automaton, READING, WITHIN))
        return self._reading[1]

    def _open(
        self, automaton: Automaton, costs: Costs, within: float | None = None
    ) -> VoskRecognizer | None:
        model = SpeechModel.load(self._folder, self._language.wording.language)
        if model.kind == "dynamic":
            return None
        return recognizer_for(model, automaton, costs, lattice_beam=within)
