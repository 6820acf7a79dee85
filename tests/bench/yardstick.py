"""The yardstick of the hearing bench: pocketsphinx with its own English model."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from handsfree.language.automaton import Automaton
from handsfree.recognition.lexicon import read_lexicon
from handsfree.recognition.speech_model import SHIPPED
from handsfree.sample_rate import SAMPLE_RATE_HZ


class PocketSphinx:
    """Recognizes with pocketsphinx (the bench extra), with the grammar as an FSG."""

    def __init__(self, automaton: Automaton, folder: Path) -> None:
        """Writes the grammar into ``folder``. Words that it lacks get the pronunciation of our
        lexicon.
        """
        from pocketsphinx import Decoder

        states = {automaton.start, *automaton.finals}
        states |= {state for source, _, target in automaton.arcs for state in (source, target)}
        final = max(states) + 1
        lines = ["FSG_BEGIN g", f"NUM_STATES {final + 1}"]
        lines += [f"START_STATE {automaton.start}", f"FINAL_STATE {final}"]
        lines += [
            f"TRANSITION {source} {target} 1.0 {word}" for source, word, target in automaton.arcs
        ]
        lines += [f"TRANSITION {state} {final} 1.0" for state in sorted(automaton.finals)]
        path = folder / f"{len(automaton.arcs)}.fsg"
        path.write_text("\n".join([*lines, "FSG_END", ""]), encoding="utf-8")
        self._decoder = Decoder(lm=None, loglevel="FATAL", samprate=SAMPLE_RATE_HZ)
        ours = read_lexicon(SHIPPED / "lexicon.txt")
        for word in sorted({word for _, word, _ in automaton.arcs}):
            if self._decoder.lookup_word(word) is None:
                self._decoder.add_word(word, " ".join(ours.of(word)[0]), True)
        self._decoder.add_fsg("g", self._decoder.read_fsg(str(path)))
        self._decoder.activate_search("g")

    def text(self, samples: NDArray[np.int16]) -> str:
        """Returns the words of one utterance."""
        self._decoder.start_utt()
        self._decoder.process_raw(samples.tobytes(), full_utt=True)
        self._decoder.end_utt()
        found = self._decoder.hyp()
        return found.hypstr if found else ""
