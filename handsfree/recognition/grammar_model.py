"""Opens a static speech model with another grammar."""

from __future__ import annotations

import re
import shutil
import tempfile
from collections.abc import Callable
from pathlib import Path

from handsfree.language.automaton import Automaton
from handsfree.recognition.graph_compiler import Costs, compile_graph
from handsfree.recognition.lexicon import read_lexicon
from handsfree.recognition.recognizer import VoskRecognizer
from handsfree.recognition.speech_model import SpeechModel


def recognizer_for(
    model: SpeechModel,
    automaton: Automaton,
    costs: Costs,
    *,
    lattice_beam: float | None = None,
    meaning: Callable[[str], object] | None = None,
    opposites_far: bool = False,
) -> VoskRecognizer:
    """Opens a recognizer for only this grammar, in about 50 ms and 15 MB. Raises ModelError.

    ``lattice_beam`` is the margin over the likeliest result within which alternatives are kept
    (nats); ``meaning`` and ``opposites_far`` are those of VoskRecognizer.
    """
    with tempfile.TemporaryDirectory(prefix="handsfree-graph-") as folder:
        into = Path(folder) / "model"
        shutil.copytree(model.folder, into)
        compile_graph(automaton, read_lexicon(into / "lexicon.txt"), costs).write(into / "graph")
        if lattice_beam is not None:
            conf = into / "conf" / "model.conf"
            text = re.sub(r"--lattice-beam=\S*\n", "", conf.read_text(encoding="utf-8"))
            conf.write_text(f"{text}--lattice-beam={lattice_beam}\n", encoding="utf-8")
        loaded = SpeechModel.load(into)
        return VoskRecognizer(loaded, meaning=meaning, opposites_far=opposites_far)
