"""The language of the tool: what is a sentence, what it means, which words it has."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path
from random import Random

from handsfree.data import data_folder
from handsfree.errors import GrammarError
from handsfree.grammar.automaton import Automaton, build_automaton
from handsfree.grammar.join import load_grammar
from handsfree.grammar.match import Matcher
from handsfree.grammar.meaning import Meaning, Word
from handsfree.grammar.meaning_of import check_tags, meaning_of
from handsfree.grammar.number import number_of
from handsfree.grammar.sample import sample
from handsfree.grammar.syntax import Grammar, Token, walk
from handsfree.grammar.typed import spoken_form

TOP = "handsfree"
RULES = ("utterance", "number")


class Language:
    """A loaded grammar. Immutable; one may serve the whole program."""

    def __init__(self, grammar: Grammar) -> None:
        self.grammar = grammar
        self._matcher = Matcher(grammar)
        self._automata: dict[str, Automaton] = {}

    @classmethod
    def load(cls, folder: Path | None = None) -> Language:
        """Reads the grammar files of a folder, by default the shipped English ones.

        Raises GrammarError, with file and line, for anything wrong in them.
        """
        folder = data_folder("grammars") / "en" if folder is None else folder
        grammar = load_grammar(folder, TOP)
        for rule in RULES:
            if f"{TOP}.{rule}" not in grammar.rules:
                raise GrammarError(
                    f"has no public rule <{rule}>", file=folder / f"{TOP}.jsgf", line=1
                )
        check_tags(grammar)
        return cls(grammar)

    def parse(self, text: str) -> Meaning | None:
        """What was said or typed, or None when it is no sentence.

        'Note' followed by anything is a note: what follows is kept as sound, not read.
        """
        words = spoken_form(text)
        if words[:1] == ("note",):
            return Word(kind="note")
        meanings = self.meanings(words)
        # Two meanings are as good as none; the tests see to it that none has two.
        return meanings[0] if len(meanings) == 1 else None

    def number(self, text: str) -> Decimal | None:
        """The value of a number that stands alone, or None when it is none."""
        found = {number_of(tags) for tags in self._matcher.parses(spoken_form(text), "number")}
        return found.pop() if len(found) == 1 else None

    def meanings(self, words: tuple[str, ...]) -> tuple[Meaning, ...]:
        """Every different meaning of the words as an utterance."""
        return tuple({meaning_of(tags) for tags in self._matcher.parses(words, "utterance")})

    def words(self) -> frozenset[str]:
        """Every word that can occur in a sentence."""
        rules = self.grammar.rules.values()
        nodes = (node for rule in rules for node in walk(rule.expansion))
        return frozenset(node.word for node in nodes if isinstance(node, Token))

    def automaton(self, rule: str = "utterance") -> Automaton:
        """The minimal word automaton of a public rule: 'utterance' or 'number'."""
        if rule not in self._automata:
            self._automata[rule] = build_automaton(self.grammar, rule)
        return self._automata[rule]

    def sentence(self, rng: Random, rule: str = "utterance") -> str:
        """A random sentence, by the weights of the grammar."""
        return " ".join(sample(self.grammar, rule, rng))
