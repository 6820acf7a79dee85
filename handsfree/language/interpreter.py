"""The language interpreter: which texts are sentences, what they mean, which words exist."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from functools import cache, lru_cache
from itertools import islice, product
from pathlib import Path
from random import Random

from handsfree.data import data_folder
from handsfree.errors import GrammarError
from handsfree.job.quantity import QUANTITIES, Quantity
from handsfree.job.unit import Family, Unit, family_of
from handsfree.language.automaton import Automaton, build_automaton
from handsfree.language.feature_grammar import feature_grammar
from handsfree.language.linker import load_grammar
from handsfree.language.matcher import Matcher
from handsfree.language.meaning import (
    Correction,
    Meaning,
    ReadingSaid,
    ReadingsSaid,
    VisitFactSaid,
    Word,
)
from handsfree.language.prune import pruned
from handsfree.language.quantity_grammar import quantity_grammar
from handsfree.language.sentence_sampler import sample
from handsfree.language.spoken_number import number_of
from handsfree.language.syntax_tree import Grammar, Token, walk, words_in
from handsfree.language.tag_interpreter import check_tags, meaning_of
from handsfree.language.typed_text import spoken_form, without_accents
from handsfree.language.visit_fact_grammar import visit_fact_grammar
from handsfree.language.wording import ENGLISH, Wording, wording

TOP = "handsfree"
_NOTE = Word(kind="note")
RULES = ("utterance", "number", "spelled", "before", "mark", "answer", "awaited")
AWAITED = "awaited"
REFUSAL = "words.negative"
CODES = "codes.shown"

_LONGEST_NAME = 8
"""Longest name of a visit fact that a typed value may follow (words)."""
_MOST_SPELLINGS = 64
"""Largest number of ways of adding accents to typed text that are tried."""
_MOST_SENTENCES = 4096
"""Number of sentences whose meanings are cached: a visit repeats the same few hundred."""


class Language:
    """A loaded grammar. Immutable; one instance can serve the whole program."""

    def __init__(self, grammar: Grammar, words: Wording) -> None:
        self.grammar = grammar
        self.wording = words
        self._matcher = Matcher(grammar)
        self._automata: dict[str, Automaton] = {}
        self._meanings = lru_cache(maxsize=_MOST_SENTENCES)(self._find_meanings)
        nodes = (node for rule in grammar.rules.values() for node in walk(rule.expansion))
        self._words = frozenset(node.word for node in nodes if isinstance(node, Token))
        self._note_words = {w for w in self._words if self.meanings((w,)) == (_NOTE,)}
        self._accented: dict[str, tuple[str, ...]] = {}
        for word in sorted(self._words):
            bare = without_accents(word)
            self._accented[bare] = (*self._accented.get(bare, ()), word)

    @classmethod
    def load(cls, folder: Path | None = None, language: str = ENGLISH) -> Language:
        """Reads the grammar files of a folder, by default the shipped ones of a language.

        The shipped files are read once for the whole program.
        Raises GrammarError or WordingError, with file and line, for any fault in them.
        """
        if folder is None:
            return _shipped(language)
        words = wording(language)
        made = (
            quantity_grammar(language),
            feature_grammar(language),
            visit_fact_grammar(language),
        )
        grammar = load_grammar(folder, TOP, *made)
        for rule in RULES:
            if f"{TOP}.{rule}" not in grammar.rules:
                raise GrammarError(
                    f"has no public rule <{rule}>", file=folder / f"{TOP}.jsgf", line=1
                )
        check_tags(grammar)
        return cls(grammar, words)

    def parse(self, text: str) -> Meaning | None:
        """Returns the meaning of a spoken or typed text, or None if it is not a sentence.

        'Note' followed by anything is a note: the rest is stored as sound and not parsed.
        """
        words = self._spoken(text)
        if words and words[0] in self._note_words:
            return _NOTE
        meanings = self.meanings(words) or self._with_other_accents(words)
        # Ambiguous text counts as not understood; tests ensure that no sentence has two meanings.
        return meanings[0] if len(meanings) == 1 else self._with_typed_value(text)

    def _with_typed_value(self, text: str) -> Meaning | None:
        """The meaning of a visit fact's name followed by a typed value ('operator serial
        A7-42').
        """
        typed = text.split()
        for count in range(min(len(typed) - 1, _LONGEST_NAME), 0, -1):
            said = self.meanings(self._spoken(" ".join(typed[:count])))
            if len(said) == 1 and isinstance(said[0], VisitFactSaid) and said[0].is_name:
                return said[0].with_typed(" ".join(typed[count:]).lstrip(": "))
        return None

    def _with_other_accents(self, words: tuple[str, ...]) -> tuple[Meaning, ...]:
        """The meanings of words typed without the accents that distinguish them."""
        spellings = [self._accented.get(word, (word,)) for word in words]
        found: dict[Meaning, None] = {}
        for spelled in islice(product(*spellings), _MOST_SPELLINGS):
            found.update(dict.fromkeys(self.meanings(spelled)))
        return tuple(found)

    def number(self, text: str) -> Decimal | None:
        """Returns the value of a text that is only a number, otherwise None."""
        found = {number_of(tags) for tags in self._matcher.parses(self._spoken(text), "number")}
        return found.pop() if len(found) == 1 else None

    def spelled(self, text: str) -> str | None:
        """Returns the code that a text spells ('A12'), or None if it spells none."""
        found = {
            "".join(tag.partition("=")[2].strip() for tag in tags)
            for tags in self._matcher.parses(self._spoken(text), "spelled")
        }
        return found.pop() if len(found) == 1 else None

    def mark(self, text: str) -> str | None:
        """Returns the mark named during a timed run, one of MARKS, or None.

        If the leaf is named too, it comes first: 'left go'.
        """
        for tags in self._matcher.parses(self._spoken(text), "mark"):
            return " ".join(tag.partition("=")[2].strip() for tag in tags)
        return None

    def sounding_alike(self, text: str) -> tuple[str, str, ReadingSaid] | None:
        """Finds a reading that sounds like this one: the word, its rival, the other meaning.

        One word is exchanged by the language's [alike] table: 'fifteen' for 'fifty'. None if there
        is no such word or the other sentence means nothing.
        """
        for word, rival, meaning in self._exchanged(text):
            if isinstance(meaning, Correction):
                meaning = meaning.reading
            if isinstance(meaning, ReadingSaid):
                return word, rival, meaning
        return None

    def each_sounding_alike(self, text: str) -> tuple[tuple[str, str, ReadingSaid] | None, ...]:
        """Finds a similar-sounding reading for each of several readings; () for any other
        utterance.
        """
        said = self.parse(text)
        if not isinstance(said, ReadingsSaid):
            return ()
        found: list[tuple[str, str, ReadingSaid] | None] = [None] * len(said.readings)
        for word, rival, meaning in self._exchanged(text):
            if not isinstance(meaning, ReadingsSaid) or len(meaning.readings) != len(found):
                continue
            both = zip(said.readings, meaning.readings, strict=True)
            changed = [nth for nth, (one, other) in enumerate(both) if one != other]
            if len(changed) == 1 and found[changed[0]] is None:
                found[changed[0]] = word, rival, meaning.readings[changed[0]]
        return tuple(found)

    def _exchanged(self, text: str) -> Iterator[tuple[str, str, Meaning | None]]:
        """Exchanges each word that sounds like another: yields the word, its rival and the new
        meaning.
        """
        words = text.split()
        for place, word in enumerate(words):
            rival = self.wording.names["alike"].get(word)
            if rival is not None:
                exchanged = [*words[:place], rival, *words[place + 1 :]]
                yield word, rival, self.parse(" ".join(exchanged))

    def may_be_a_refusal(self, text: str) -> bool:
        """True if a word of the text equals or is part of a word of a refusal.

        'Correct' is half of 'incorrect', so such an assent may have been its opposite.
        """
        arcs = self.automaton(REFUSAL).arcs
        return any(mine in word for mine in self._spoken(text) for _, word, _ in arcs)

    def _spoken(self, text: str) -> tuple[str, ...]:
        """Words of a text in the grammar's spelling, typed with or without accents."""
        return tuple(
            word if word in self._words else self._accented.get(without_accents(word), (word,))[0]
            for word in spoken_form(text, self.wording)
        )

    def meanings(self, words: tuple[str, ...]) -> tuple[Meaning, ...]:
        """Returns every distinct meaning of the words as an utterance."""
        return self._meanings(words)

    def _find_meanings(self, words: tuple[str, ...]) -> tuple[Meaning, ...]:
        return tuple({meaning_of(tags) for tags in self._matcher.parses(words, "utterance")})

    def words(self, rule: str | None = None) -> frozenset[str]:
        """All words of the sentences, or of one public rule of RULES."""
        return self._words if rule is None else words_in(self.grammar, rule)

    def automaton(self, rule: str = "utterance") -> Automaton:
        """Returns the minimal word automaton of a public rule, one of RULES."""
        if rule not in self._automata:
            self._automata[rule] = build_automaton(self.grammar, rule)
        return self._automata[rule]

    def reading_automaton(self, quantity: Quantity) -> Automaton:
        """Builds the automaton for readings of one quantity, with or without its name.

        It also accepts the answers, the fixed words, and the start of the clock.
        """
        if quantity not in self._automata:
            family = QUANTITIES[quantity].family
            units = [unit for unit in Unit if family_of(unit) is family]
            if family is Family.FORCE:
                units.append(Unit.POUND)  # bare pounds are a weight, unless a force is expected
            grammar = pruned(self.grammar, {"quantity": (quantity,), "unit": units})
            self._automata[quantity] = build_automaton(grammar, AWAITED)
        return self._automata[quantity]

    def sentence(self, rng: Random, rule: str = "utterance") -> str:
        """Draws a random sentence by the weights of the grammar."""
        return " ".join(sample(self.grammar, rule, rng))


@cache
def _shipped(language: str) -> Language:
    return Language.load(data_folder("grammars") / language, language)
