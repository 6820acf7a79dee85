"""Texts for the synthetic voices: sentences drawn from the grammar.

A changed grammar changes the training set. In addition to whole sentences there are its words in
any order, numbers alone, single words, and words of general English.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from random import Random

from handsfree.language.interpreter import Language
from handsfree.language.meaning import Correction, ReadingSaid

_ALIKE = (
    *("fifteen fifty", "thirteen thirty", "fourteen forty", "sixteen sixty", "eighteen eighty"),
    *("seventeen seventy", "nineteen ninety", "inch inches", "pound pounds", "second seconds"),
    *("degree degrees", "month months", "yes no", "none done nine", "correct incorrect"),
    *("in order not in order", "affirm negative", "push pull", "pushes pulls", "left right"),
)

_DIGITS = ("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "oh")


def texts(language: Language, general: list[str], rng: Random) -> Iterator[str]:
    """Yields texts endlessly. ``general`` holds English words that the grammar lacks."""
    words = sorted(language.words())

    def no_reading() -> str:
        while True:
            text = language.sentence(rng)
            if not isinstance(language.parse(text), ReadingSaid | Correction):
                return text

    kinds: list[tuple[float, Callable[[], str]]] = [
        (0.38, lambda: language.sentence(rng)),
        (0.20, no_reading),
        (0.12, lambda: language.sentence(rng, "number")),
        (0.14, lambda: " ".join(rng.choice(words) for _ in range(rng.randint(2, 6)))),
        (0.06, lambda: rng.choice(words)),
        (0.04, lambda: _doubled(rng)),
        (0.06, lambda: " ".join(rng.choice(general) for _ in range(rng.randint(1, 5)))),
    ]
    while True:
        (make,) = rng.choices([make for _, make in kinds], [share for share, _ in kinds])
        yield make()


def _doubled(rng: Random) -> str:
    """Doubled digits, which are often heard as one, and words that sound alike."""
    if rng.random() < 0.5:
        return rng.choice(_ALIKE)
    said = [rng.choice(_DIGITS) for _ in range(rng.randint(2, 5))]
    double = rng.randrange(len(said))
    return " ".join([*said[:double], said[double], *said[double:]])
