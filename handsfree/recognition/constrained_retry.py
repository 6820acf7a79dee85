"""Hears an utterance once more, among the answers alone, or for the reading that is awaited.

The whole grammar is wide, so what is said beside the tool must be kept out of it by a strict
comparison with other speech. Where the conversation waits for one of a few answers, and
nothing was understood, the same sound may be compared more kindly: with the answers alone.

A reading that was understood is compared once more too: with the readings of its quantity, each
of them at its cost, for one digit more or less costs little.
"""

from __future__ import annotations

from pathlib import Path

from handsfree.job.quantity import Quantity
from handsfree.language.automaton import Automaton
from handsfree.language.interpreter import Language
from handsfree.recognition.grammar_model import with_graph
from handsfree.recognition.graph_compiler import Costs
from handsfree.recognition.recognizer import Samples, VoskRecognizer
from handsfree.recognition.speech_model import SpeechModel
from handsfree.sample_rate import SAMPLE_RATE_HZ

AT_ONCE = Costs(other_speech=7.0, other_phone=2.2)
"""For answers that are acted on at once: a value is filed, a step is over."""
READ_BACK = Costs(other_speech=10.0, other_phone=2.2)
"""For answers that are read back before they count. Both were chosen on what is kept apart for
it (docs/speech-model.md)."""
READING = Costs(other_speech=13.0, other_phone=2.2)
"""For the reading that a step waits for, with its quantity; it is read back too."""
LONGEST_S = 2.4
"""An utterance with the silence that is cut with it, about a second. Nobody takes longer over an
answer; a longer one is most often a sentence of somebody else's."""
LONGEST_READING_S = 4.5
"""The same for a reading."""
WITHIN = 8.0
"""Nats over the likeliest reading up to which others are told; more takes much time."""
_MOST = 60


class SecondHearing:
    """Opens the model when it is first needed.

    A dynamic model takes no costs for other speech, so with one nothing is heard here. Of the
    readings only those of the quantity that was sought last are kept open: steps come in order,
    and each takes some 15 MB.
    """

    def __init__(self, language: Language, folder: Path | str | None = None) -> None:
        self._language, self._folder = language, folder
        self._opened: dict[Costs, VoskRecognizer | None] = {}
        self._reading: tuple[Quantity, VoskRecognizer | None] | None = None

    def text(self, samples: Samples, *, read_back: bool, quantity: Quantity | None = None) -> str:
        """What is heard in one whole utterance (mono, 16 kHz), or no sentence.

        ``read_back`` is whether the answer is read back before it counts, ``quantity`` what
        a reading is waited for of. Raises ModelError where the model cannot be opened.
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
        """What one whole utterance (mono, 16 kHz) may have been as a reading of that quantity.

        Each with its cost in nats, the likeliest first; those of several quantities compare.
        None of an utterance that is too long, or with a dynamic model. Raises ModelError.
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
        return with_graph(model, automaton, costs, lattice_beam=within)
