"""A speech model with a dynamic graph, like full Vosk models, made from the shipped parts."""

from __future__ import annotations

import shutil
from collections.abc import Iterable
from pathlib import Path

from handsfree.recognition.fst import EPSILON, Fst
from handsfree.recognition.lexicon import read_lexicon
from handsfree.recognition.phones import ARPABET, SILENCE, SILENCE_IN_WORD, enter, placed, stay
from handsfree.recognition.speech_model import SHIPPED, UNKNOWN


def make_dynamic(folder: Path, without: Iterable[str] = ()) -> Path:
    """Makes a folder that knows the grammar's words except ``without``, in any order."""
    shutil.copytree(SHIPPED, folder, ignore=shutil.ignore_patterns("*.txt", "*.toml", "HCLG.fst"))
    lexicon = read_lexicon(SHIPPED / "lexicon.txt")
    vocabulary = sorted(lexicon.pronunciations.keys() - set(without))
    words = ("<eps>", *vocabulary, UNKNOWN, "#0")
    loop = Fst()
    hub, silent = loop.add_state(), loop.add_state()
    loop.add_arc(hub, silent, enter(SILENCE))
    loop.add_arc(silent, silent, stay(SILENCE))
    loop.add_arc(silent, hub, EPSILON)
    loop.set_final(hub)
    for label, word in enumerate(words[1:-1], start=1):
        others = [(phone,) for phone in ARPABET]
        for pronunciation in others if word == UNKNOWN else lexicon.of(word):
            _add_word(loop, hub, placed(pronunciation), label)
    for arcs in loop.arcs:
        arcs.sort(key=lambda arc: arc.output)  # so that Vosk can join it with a grammar
    graph = folder / "graph"
    loop.write(graph / "HCLr.fst")
    anything = Fst()
    anything.set_final(anything.add_state())
    for label in range(1, len(words) - 1):
        anything.add_arc(0, 0, label, label, 5.0)
    anything.write(graph / "Gr.fst")
    (graph / "disambig_tid.int").write_text("1000000\n", encoding="utf-8")
    table = "".join(f"{word} {number}\n" for number, word in enumerate(words))
    (graph / "words.txt").write_text(table, encoding="utf-8")
    return folder


def _add_word(loop: Fst, hub: int, phones: tuple[str, ...], label: int) -> None:
    before = [hub]
    for place, phone in enumerate(phones):
        held = loop.add_state()
        loop.add_arc(held, held, stay(phone))
        for state in before:
            loop.add_arc(state, held, enter(phone), EPSILON if place else label)
        blank = loop.add_state()
        loop.add_arc(held, blank, enter(SILENCE_IN_WORD))
        loop.add_arc(blank, blank, stay(SILENCE_IN_WORD))
        before = [held, blank]
    loop.add_arc(before[0], hub, EPSILON)
