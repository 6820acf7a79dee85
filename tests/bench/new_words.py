"""Measures words that no training had: only their lines in the lexicon are new.

    python -m tests.bench.new_words CLIPS

The twenty words of natural_clips.py were left out of every text and every recording of the
training. Here they are looked up in the CMU dictionary and added to the grammar as answers, and
natural voices say them. The words that were trained are the row to compare with.
"""

from __future__ import annotations

import argparse
import shutil
import tempfile
from collections import Counter
from pathlib import Path

from handsfree.data import data_folder
from handsfree.language.interpreter import Language
from handsfree.recognition.graph_compiler import compile_graph
from handsfree.recognition.lexicon import Lexicon, read_lexicon
from handsfree.recognition.pronouncing_dictionary import look_up
from handsfree.recognition.recognizer import VoskRecognizer
from handsfree.recognition.speech_model import SpeechModel
from tests.bench.hearing import DATA
from tests.bench.listening_material import LEVELS_DB, in_noise, level_name, natural_clips, noises
from tests.bench.natural_clips import NEW_WORDS
from tests.bench.score import Cell

_BEFORE = "    <side_choice>\n"


def main() -> None:
    """Prints the table and, for each word, what was missed."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n\n")[0])
    parser.add_argument("clips", type=Path)
    parser.add_argument("--voices", default="held-out", help="held-out or development")
    parser.add_argument("--model", type=Path)
    options = parser.parse_args()
    noise, lost = noises(DATA), Counter[str]()
    with tempfile.TemporaryDirectory() as name:
        language, recognizer = _with_new_words(Path(name), options.model)
        print(f"{'':36}" + "".join(f"{level_name(level):>20}" for level in LEVELS_DB))
        for voice in natural_clips(options.clips, options.voices, "en"):
            for title, samples in (
                ("new words", voice.of("new word")),
                ("known single words", [s for s in voice.of("command") if " " not in s.text]),
            ):
                cells = [Cell() for _ in LEVELS_DB]
                for sample in samples:
                    for cell, level in zip(cells, LEVELS_DB, strict=True):
                        heard = recognizer.recognize(in_noise(sample, level, noise)).text
                        cell.count += 1
                        cell.right += heard == sample.text
                        cell.accepted += language.parse(heard) is not None
                        if level is None and title == "new words" and heard != sample.text:
                            lost[f"{sample.text} heard as {heard or 'nothing'}"] += 1
                shown = "".join(f"{cell.shown('right'):>20}" for cell in cells)
                print(f"{title + ', ' + voice.voice:36}{shown}  of {cells[0].count}", flush=True)
    print("in quiet:", "; ".join(f"{what} ({n})" for what, n in sorted(lost.items())) or "all")


def _with_new_words(scratch: Path, folder: Path | None) -> tuple[Language, VoskRecognizer]:
    """Returns the shipped grammar with the words as answers, and a recognizer for it."""
    grammar, model = scratch / "grammar", scratch / "model"
    shutil.copytree(data_folder("grammars") / "en", grammar)
    choices = grammar / "choices.jsgf"
    text = choices.read_text(encoding="utf-8")
    assert text.count(_BEFORE) == 1
    added = "".join(f"  | {word} {{value = in_order}}\n" for word in NEW_WORDS)
    choices.write_text(text.replace(_BEFORE, _BEFORE + added), encoding="utf-8")
    language = Language.load(grammar)
    shutil.copytree(SpeechModel.load(folder).folder, model)
    known = read_lexicon(model / "lexicon.txt")
    found = look_up(known.missing(sorted(language.words())), model / "lexicon.txt")
    lexicon = Lexicon({**known.pronunciations, **found})
    compile_graph(language.automaton(), lexicon).write(model / "graph")
    return language, VoskRecognizer(SpeechModel.load(model))


if __name__ == "__main__":
    main()
