"""Hears an utterance once more, among the answers alone.

The whole grammar is wide, so what is said beside the tool must be kept out of it by a strict
comparison with other speech. Where the conversation waits for one of a few answers, and
nothing was understood, the same sound may be compared more kindly: with the answers alone.
"""

from __future__ import annotations

from pathlib import Path

from handsfree.grammar.automaton import Automaton
from handsfree.speech.graph import Costs
from handsfree.speech.model import SAMPLE_RATE, SpeechModel
from handsfree.speech.own_graph import with_graph
from handsfree.speech.recogniser import Samples, VoskRecogniser

AT_ONCE = Costs(other_speech=7.0, other_phone=2.2)
"""For answers that are acted on at once: a value is filed, a step is over."""
READ_BACK = Costs(other_speech=10.0, other_phone=2.2)
"""For answers that are read back before they count. Both were chosen on what is kept apart for
it (docs/speech-model.md)."""
LONGEST_S = 2.4
"""An utterance with the silence that is cut with it, about a second. Nobody takes longer over an
answer; a longer one is most often a sentence of somebody else's."""


class SecondHearing:
    """Opens the model when it is first needed. ``answers`` are all that is ever answered alone.

    A dynamic model takes no costs for other speech, so with one nothing is heard here.
    """

    def __init__(self, answers: Automaton, folder: Path | str | None = None) -> None:
        self._answers, self._folder = answers, folder
        self._opened: dict[Costs, VoskRecogniser | None] = {}

    def text(self, samples: Samples, *, read_back: bool) -> str:
        """The answer that is heard in one whole utterance (mono, 16 kHz), or no sentence.

        ``read_back`` is whether the answer is read back before it counts. Raises ModelError
        where the model cannot be opened.
        """
        if len(samples) > LONGEST_S * SAMPLE_RATE:
            return ""
        costs = READ_BACK if read_back else AT_ONCE
        if costs not in self._opened:
            self._opened[costs] = self._open(costs)
        recogniser = self._opened[costs]
        return recogniser.recognise(samples).text if recogniser is not None else ""

    def _open(self, costs: Costs) -> VoskRecogniser | None:
        model = SpeechModel.load(self._folder)
        return None if model.kind == "dynamic" else with_graph(model, self._answers, costs)
