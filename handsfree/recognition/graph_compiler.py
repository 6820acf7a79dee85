"""Compiles the grammar into the graph that the recognizer searches.

The grammar's word automaton and the lexicon become one transducer from the acoustic model's
transition-ids to words (Kaldi's HCLG), in CTC topology: a phone is entered once and held; between
phones and after a word the blank may be held. The word is on the arc into its first phone. In
training the blank separates two equal phones, but people merge them, so here the blank may be
skipped at a cost. Without that cost 'forty newtons' and 'fourteen newtons', with one 'n' or two,
would be the same path.

A parallel path accepts everything else that people say: any sequence of phones. Each of its phones
has its own output ('[AA]'). With a common '[unk]' all phone sequences would have the same words,
and the lattice would keep them all (measured: it exceeds Vosk's limit of 50 MB).
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from pathlib import Path

from handsfree.errors import ModelError
from handsfree.language.automaton import Automaton
from handsfree.recognition.fst import EPSILON, Fst
from handsfree.recognition.lexicon import Lexicon
from handsfree.recognition.phones import (
    ARPABET,
    SILENCE,
    SILENCE_IN_WORD,
    enter,
    placed,
    stay,
    word_boundary_table,
)

REST_FOLLOWS = frozenset(("note", "nota"))
"""Words after which anything may be said ('note' in each language)."""
_AFTER_NOTE = -1


@dataclass(frozen=True, slots=True)
class Costs:
    """Costs of a path through the graph, in nats; chosen by measurement.

    ``word`` (for each word) keeps short words from being recognized at the ends of long ones.
    ``merged`` is for a phone that ends one word and begins the next without a blank between them.
    ``other_speech`` (once) and ``other_phone`` (for each phone) keep a badly spoken sentence from
    being recognized as other speech.
    """

    word: float = 0.5
    merged: float = 1.0
    other_speech: float = 7.0
    other_phone: float = 1.1


@dataclass(frozen=True)
class Graph:
    """A compiled graph: the transducer and its words, in the order of their numbers."""

    fst: Fst
    words: tuple[str, ...]

    def write(self, folder: Path) -> None:
        """Writes HCLG.fst, words.txt and phones/word_boundary.int to ``folder``."""
        (folder / "phones").mkdir(parents=True, exist_ok=True)
        self.fst.write(folder / "HCLG.fst")
        table = "".join(f"{word} {number}\n" for number, word in enumerate(self.words))
        (folder / "words.txt").write_text(table, encoding="utf-8")
        boundaries = folder / "phones" / "word_boundary.int"
        boundaries.write_text(word_boundary_table(), encoding="utf-8")


def compile_graph(automaton: Automaton, lexicon: Lexicon, costs: Costs | None = None) -> Graph:
    """Builds the graph of all sentences of the automaton, with the path for other speech.

    Raises ModelError naming the words that have no pronunciation.
    """
    vocabulary = sorted({word for _, word, _ in automaton.arcs})
    if missing := lexicon.missing(vocabulary):
        raise ModelError(
            f"no pronunciation for: {', '.join(missing)}",
            way_out="add a line 'word PHONES' for each to lexicon.txt of the model folder",
        )
    return _Compiler(automaton, lexicon, vocabulary, costs or Costs()).compile()


@dataclass(frozen=True, slots=True)
class _Place:
    """A state of the automaton in two forms: right after a word, and in the blank that may follow
    it.

    ``after`` maps a phone to the state in which a word ends with it if a word that may come next
    begins with it.
    """

    spoken: int
    silent: int
    after: dict[str, int] = field(default_factory=dict)

    @property
    def states(self) -> tuple[int, ...]:
        return (self.spoken, self.silent, *self.after.values())


class _Compiler:
    """Builds one graph."""

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
        self._places: dict[int, _Place] = {}
        self._rests: dict[tuple[tuple[str, ...], int], int] = {}
        self._first: dict[int, set[str]] = {}
        self._last: dict[int, set[str]] = {}
        for source, word, target in automaton.arcs:
            for pronunciation in lexicon.of(word):
                self._first.setdefault(source, set()).add(pronunciation[0])
                self._last.setdefault(target, set()).add(pronunciation[-1])

    def compile(self) -> Graph:
        automaton = self._automaton
        self._place(automaton.start)
        for source, word, target in automaton.arcs:
            self._add_word(source, word, target)
        for final in sorted(automaton.finals):
            for state in self._place(final).states:
                self._fst.set_final(state)
        loop = self._add_other_speech()
        self._enter_other_speech(self._place(automaton.start), loop)
        # A separate place, because the automaton lets 'note' end where any sentence ends.
        after_note = self._places[_AFTER_NOTE] = self._add_place()
        self._enter_other_speech(after_note, loop)
        for source, word, _ in automaton.arcs:
            if word in REST_FOLLOWS:
                self._add_word(source, word, _AFTER_NOTE)
        return Graph(self._fst, self._words)

    def _place(self, place: int) -> _Place:
        if place not in self._places:
            met = self._first.get(place, set()) & self._last.get(place, set())
            self._places[place] = self._add_place(sorted(met))
        return self._places[place]

    def _add_place(self, met: Iterable[str] = ()) -> _Place:
        """Adds a place; ``met`` are the phones that end one word here and begin another."""
        place = _Place(self._fst.add_state(), self._fst.add_state())
        place.after.update((phone, self._fst.add_state()) for phone in met)
        self._fst.add_arc(place.silent, place.silent, stay(SILENCE))
        for state in (place.spoken, *place.after.values()):
            self._fst.add_arc(state, place.silent, enter(SILENCE))
        return place

    def _add_word(self, source: int, word: str, target: int) -> None:
        for pronunciation in self._lexicon.of(word):
            end = self._place(target)
            spoken = end.after.get(pronunciation[-1], end.spoken)
            first, *rest = placed(pronunciation)
            into = self._held(first, tuple(rest), spoken)
            begin = self._place(source)
            alike = begin.after.get(pronunciation[0])
            for state in begin.states:
                cost = self._costs.word + (self._costs.merged if state == alike else 0.0)
                self._fst.add_arc(state, into, enter(first), self._label[word], cost)

    def _held(self, phone: str, rest: tuple[str, ...], end: int) -> int:
        """Returns the state that holds ``phone`` and continues through ``rest`` to state ``end``.

        Words with equal endings before the same place share their states.
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

    def _add_other_speech(self) -> _Place:
        """Adds a loop over all phones, each its own word, and returns its place."""
        place = self._add_place()
        spoken, silent = place.states
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
        return place

    def _enter_other_speech(self, place: _Place, loop: _Place) -> None:
        for state in place.states:
            into = loop.silent if state == place.silent else loop.spoken
            self._fst.add_arc(state, into, EPSILON, cost=self._costs.other_speech)
