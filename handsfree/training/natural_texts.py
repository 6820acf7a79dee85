"""Texts for the natural voices: two thirds from the grammar, one third from outside it.

Trade words that no sentence has yet, and other people's talk, are recognized correctly only if the
training contained such sounds in such voices. So a third of the texts are pieces of read sentences,
of the tool's own prose, and common words in any order. A new word of the grammar then needs only
its line in the lexicon, not a training.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable, Iterable, Iterator, Sequence
from pathlib import Path
from random import Random

from handsfree.data import data_folder
from handsfree.language.interpreter import Language
from handsfree.language.syntax_tree import (
    Alternatives,
    Grammar,
    Node,
    OptionalGroup,
    Reference,
    Repeat,
    Tagged,
    Token,
)
from handsfree.language.syntax_tree import Sequence as InOrder
from handsfree.language.wording import wording

_SENTENCES = 60_000
"""Number of sentences drawn once, so that every word can be said equally often."""
_MOST_OF_A_RULE = 4_000
_SPELLED = {
    "en": ("zero oh", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine"),
    "es": ("cero", "uno", "dos", "tres", "cuatro", "cinco", "seis", "siete", "ocho", "nueve"),
}
_LONGEST = 110
_PROSE = Path(__file__).parents[1] / "procedure" / "data"


def natural_texts(
    language: Language,
    general: Sequence[str],
    words_of_general_use: Sequence[str],
    without: Iterable[str],
    rng: Random,
) -> Iterator[str]:
    """Yields texts endlessly; none has a word of ``without``.

    ``general`` holds sentences of any kind in this language.
    """
    name, left_out = language.wording.language, set(without)
    sentences = [language.sentence(rng) for _ in range(_SENTENCES)]
    by_word: dict[str, list[str]] = {}
    for sentence in sentences:
        for word in set(sentence.split()):
            by_word.setdefault(word, []).append(sentence)
    words = sorted(by_word)
    rules = [rule for rule in language.grammar.rules if rule.startswith("words.")]
    fixed = [said for rule in rules if (said := short_sentences(language.grammar, rule))]
    judging = [
        said
        for rule in ("affirm", "negative", "correct")
        if (said := short_sentences(language.grammar, f"words.{rule}"))
    ]
    answers = short_sentences(language.grammar, "choices.choice")
    marks = short_sentences(language.grammar, "handsfree.mark")
    alike = sorted(language.wording.names["alike"])
    values = sorted({word for word in words if language.number(word) is not None})
    prose = trade_prose(name)
    digits = _SPELLED[name]

    teens = {
        word: word.replace("teen", "ty").replace("fourty", "forty")
        for word in words
        if word.endswith("teen")
    }
    ties = {ty: teen for teen, ty in teens.items()}
    counted = [s for s in sentences if {*teens, *ties} & {*s.split()}]

    def teen_or_ty() -> str:
        """Draws a sentence with such a number; half of the time the number is replaced by the one
        that sounds like it.
        """
        said = rng.choice(counted or sentences).split()
        if rng.random() < 0.5:
            said = [teens.get(word, ties.get(word, word)) for word in said]
        return " ".join(said)

    def pieces(of: Sequence[str]) -> str:
        said = rng.choice(of).split()
        length = rng.randint(1, 9)
        first = rng.randrange(max(1, len(said) - length))
        return " ".join(said[first : first + length])

    kinds: list[tuple[float, Callable[[], str]]] = [
        (0.18, lambda: rng.choice(sentences)),
        (0.07, teen_or_ty),
        (0.06, lambda: rng.choice(by_word[rng.choice(words)])),
        (0.06, lambda: rng.choice(by_word.get(rng.choice(alike)) or sentences)),
        (0.11, lambda: rng.choice(rng.choice(fixed))),
        (0.05, lambda: rng.choice(rng.choice(judging))),
        (0.07, lambda: rng.choice(answers)),
        (0.02, lambda: rng.choice(marks)),
        (0.03, lambda: rng.choice(values)),
        (0.03, lambda: _spelled(digits, rng)),
        (0.04, lambda: language.sentence(rng, "number")),
        (0.03, lambda: " ".join(rng.choice(words) for _ in range(rng.randint(1, 5)))),
        (0.11, lambda: pieces(general or prose)),
        (0.06, lambda: pieces(prose)),
        (
            0.08,
            lambda: " ".join(rng.choice(words_of_general_use) for _ in range(rng.randint(1, 4))),
        ),
    ]
    shares = [share for share, _ in kinds]
    while True:
        (kind,) = rng.choices(kinds, shares)
        text = kind[1]().replace("-", " ")
        if text and len(text) <= _LONGEST and not left_out & set(text.split()):
            yield text


def short_sentences(grammar: Grammar, rule: str) -> list[str]:
    """All sentences of a rule, sorted, with repetitions said once; at most 4,000."""

    def of(node: Node) -> list[tuple[str, ...]]:
        match node:
            case Token(word):
                return [(word,)]
            case Reference(name):
                return of(grammar.rules[name].expansion)
            case InOrder(items):
                found: list[tuple[str, ...]] = [()]
                for item in items:
                    found = [a + b for a in found for b in of(item)][:_MOST_OF_A_RULE]
                return found
            case Alternatives(options, _):
                return [each for option in options for each in of(option)]
            case OptionalGroup(item):
                return [(), *of(item)]
            case Repeat(item, _) | Tagged(item):
                return of(item)
            case _:
                return [()]

    return sorted({" ".join(each) for each in of(grammar.expansion(rule))} - {""})


def trade_prose(language: str) -> list[str]:
    """The tool's own sentences from the procedures and the wording, without digits.

    They include the names of the quantities.
    """
    files = [*sorted((_PROSE / language).rglob("*.toml"))]
    files += [
        data_folder("grammars") / language / f"{name}.toml" for name in ("wording", "findings")
    ]
    found = {name for name in wording(language).names["quantity"].values() if " " in name}
    for file in files:
        for text in _strings(tomllib.loads(file.read_text(encoding="utf-8"))):
            for sentence in re.split(r"[.:;?!]", re.sub(r"\{[^}]*\}", ".", text)):
                words = in_letters(sentence)
                if len(words.split()) > 1 and not re.search(r"\d", sentence):
                    found.add(words)
    return sorted(found)


def in_letters(text: str) -> str:
    """A text in lower-case letters, with accents and without punctuation."""
    return " ".join(re.sub(r"[^a-záéíóúüñ' ]+", " ", text.lower().replace("-", " ")).split())


def _strings(value: object) -> Iterator[str]:
    match value:
        case str() if " " in value:  # otherwise it is an id or the name of a file
            yield value
        case list():
            for each in value:
                yield from _strings(each)
        case dict():
            for each in value.values():
                yield from _strings(each)
        case _:
            pass


def _spelled(digits: Sequence[str], rng: Random) -> str:
    said = (rng.choice(digits) for _ in range(rng.randint(2, 6)))
    return " ".join(rng.choice(digit.split()) for digit in said)
