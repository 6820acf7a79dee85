"""Compiles what can be said into the graph that the recogniser searches.

The word automaton of the grammar and the lexicon become one transducer from the
acoustic model's transition-ids to words (what Kaldi calls HCLG), in CTC topology: a
phone is entered once and held; between phones, and after a word, the blank may be
held. The word stands on the arc into its first phone.

Beside the grammar runs a path for everything else that people say: any sequence of
phones. Each of its phones is an output of its own ('[AA]'): one common '[unk]' would
give every phone sequence the same words, and the lattice keeps them all (measured:
it grows past Vosk's limit of 50 MB).
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from handsfree.errors import ModelError
from handsfree.grammar.automaton import Automaton
from handsfree.speech.fst import EPSILON, Fst
from handsfree.speech.lexicon import Lexicon
from handsfree.speech.phones import (
    ARPABET,
    SILENCE,
    SILENCE_IN_WORD,
    enter,
    placed,
    stay,
    word_boundary_table,
)

REST_FOLLOWS = frozenset(("note", "nota"))
"""After these words, the same one in each language, anything may be said."""
_AFTER_NOTE = -1


@dataclass(frozen=True, slots=True)
class Costs:
    """What a path through the graph costs, in nats; chosen by measurement.

    ``word`` for each word of a sentence keeps short words from being heard in the
    ends of long ones. ``other_speech`` once and ``other_phone`` for each phone keep a
    sentence that was said badly from being taken for other speech.
    """

    word: float = 0.5
    other_speech: float = 7.0
    other_phone: float = 1.1


@dataclass(frozen=True)
class Graph:
    """A compiled graph: the transducer and its words, each at its number."""

    fst: Fst
    words: tuple[str, ...]

    def write(self, folder: Path) -> None:
        """Writes HCLG.fst, words.txt and phones/word_boundary.int below ``folder``."""
        (folder / "phones").mkdir(parents=True, exist_ok=True)
        self.fst.write(folder / "HCLG.fst")
        table = "".join(f"{word} {number}\n" for number, word in enumerate(self.words))
        (folder / "words.txt").write_text(table, encoding="utf-8")
        boundaries = folder / "phones" / "word_boundary.int"
        boundaries.write_text(word_boundary_table(), encoding="utf-8")


def compile_graph(automaton: Automaton, lexicon: Lexicon, costs: Costs | None = None) -> Graph:
    """The graph of all sentences of the automaton, and of other speech beside them.

    Raises ModelError naming the words that have no pronunciation.
    """
    vocabulary = sorted({word for _, word, _ in automaton.arcs})
    if missing := lexicon.missing(vocabulary):
        raise ModelError(
            f"no pronunciation for: {', '.join(missing)}",
            way_out="add a line 'word PHONES' for each to lexicon.txt of the model folder",
        )
    return _Compiler(automaton, lexicon, vocabulary, costs or Costs()).compile()


class _Compiler:
    """Builds one graph.

    A place of the automaton is two states: right after a word, and in the blank that
    may follow it.
    """

    def __init__(
        self, automaton: Automaton, lexicon: Lexicon, vocabulary: list[str], costs: Costs
    ) -> None:
        self._automaton = automaton
        self._lexicon = lexicon
        self._costs = costs
        self._fst = Fst()
        sounds = [f"[{phone}]" for phone in ARPABET]
        self._words = ("<eps>", *vocabulary, *sounds, "#0")
        self._label = {word: number for number, word in enumerate(self._words)}
        self._places: dict[int, tuple[int, int]] = {}
        self._rests: dict[tuple[tuple[str, ...], int], int] = {}

    def compile(self) -> Graph:
        automaton = self._automaton
        self._place(automaton.start)
        for source, word, target in automaton.arcs:
            self._add_word(source, word, target)
        for final in sorted(automaton.finals):
            for state in self._place(final):
                self._fst.set_final(state)
        loop = self._add_other_speech()
        self._enter_other_speech(self._place(automaton.start), loop)
        # A place of its own: the automaton lets 'note' end where every sentence ends.
        after_note = self._places[_AFTER_NOTE] = self._add_place()
        self._enter_other_speech(after_note, loop)
        for source, word, _ in automaton.arcs:
            if word in REST_FOLLOWS:
                self._add_word(source, word, _AFTER_NOTE)
        return Graph(self._fst, self._words)

    def _place(self, place: int) -> tuple[int, int]:
        if place not in self._places:
            self._places[place] = self._add_place()
        return self._places[place]

    def _add_place(self) -> tuple[int, int]:
        spoken, silent = self._fst.add_state(), self._fst.add_state()
        self._fst.add_arc(spoken, silent, enter(SILENCE))
        self._fst.add_arc(silent, silent, stay(SILENCE))
        return spoken, silent

    def _add_word(self, source: int, word: str, target: int) -> None:
        for pronunciation in self._lexicon.of(word):
            first, *rest = placed(pronunciation)
            into = self._held(first, tuple(rest), self._place(target)[0])
            for state in self._place(source):
                label = self._label[word]
                self._fst.add_arc(state, into, enter(first), label, self._costs.word)

    def _held(self, phone: str, rest: tuple[str, ...], end: int) -> int:
        """The state that holds ``phone`` and leads on through ``rest`` to state ``end``.

        Words that end alike before the same place share their states.
        """
        key = ((phone, *rest), end)
        if key not in self._rests:
            held = self._rests[key] = self._fst.add_state()
            self._fst.add_arc(held, held, stay(phone))
            if rest:
                blank = self._fst.add_state()
                self._fst.add_arc(held, blank, enter(SILENCE_IN_WORD))
                self._fst.add_arc(blank, blank, stay(SILENCE_IN_WORD))
                following = self._held(rest[0], rest[1:], end)
                for state in (held, blank):
                    self._fst.add_arc(state, following, enter(rest[0]))
            else:
                self._fst.add_arc(held, end, EPSILON)
        return self._rests[key]

    def _add_other_speech(self) -> tuple[int, int]:
        """A loop over all phones, each a word of its own; its place."""
        spoken, silent = self._add_place()
        for phone in ARPABET:
            (only,) = placed((phone,))
            held = self._fst.add_state()
            self._fst.add_arc(held, held, stay(only))
            self._fst.add_arc(held, spoken, EPSILON)
            for state in (spoken, silent):
                label = self._label[f"[{phone}]"]
                self._fst.add_arc(state, held, enter(only), label, self._costs.other_phone)
        for state in (spoken, silent):
            self._fst.set_final(state)
        return spoken, silent

    def _enter_other_speech(self, place: tuple[int, int], loop: tuple[int, int]) -> None:
        for state, into in zip(place, loop, strict=True):
            self._fst.add_arc(state, into, EPSILON, cost=self._costs.other_speech)
