"""Makes the grammar 'quantities' of a language from the rows of quantities.toml.

For each kind of subject and each family there is a rule such as <leaf_time>, which names every such
quantity, and a rule such as <leaf_length_short> of the forms that suffice after the subject. A rule
without any quantity cannot be spoken, like JSGF's <VOID>.
"""

from __future__ import annotations

from collections.abc import Iterable

from handsfree.job.quantity import FILE, QUANTITIES, Quantity, SubjectKind, line_of, quantity_words
from handsfree.job.unit import Family
from handsfree.language.jsgf_parser import parse_jsgf
from handsfree.language.syntax_tree import (
    Alternatives,
    GrammarFile,
    Import,
    Node,
    Rule,
    Tagged,
)

NAME = "quantities"
"""Name by which other files of the grammar import it."""
_BORROWED = "names"
"""The grammar file of the language whose rules a form may refer to."""


def quantity_grammar(language: str) -> GrammarFile:
    """The rules of a language's quantities.

    Raises GrammarError with the line of a form that is not valid JSGF, HandsfreeError with the
    line of a row without words of the language.
    """
    rules: list[Rule] = []
    for kind in SubjectKind:
        for family in Family:
            mine = [q for q, row in QUANTITIES.items() if (row.of, row.family) == (kind, family)]
            full, short = f"{kind}_{family}", f"{kind}_{family}_short"
            rules.append(_rule(full, (_named(q, language) for q in mine)))
            rules.append(_rule(short, (_named(q, language, short=True) for q in mine)))
    return GrammarFile(NAME, FILE, (Import(_BORROWED, "*", 1),), tuple(rules))


def _rule(name: str, options: Iterable[Node | None]) -> Rule:
    some = tuple(option for option in options if option is not None)
    node = some[0] if len(some) == 1 else Alternatives(some, (1.0,) * len(some))
    return Rule(name, public=True, expansion=node, file=FILE, line=1)


def _named(quantity: Quantity, language: str, *, short: bool = False) -> Node | None:
    """The forms of a quantity with its tag; None if it has no short forms."""
    words = quantity_words(quantity, language)
    forms = words.short if short else words.say
    if not forms:
        return None
    line = line_of(quantity, f"{language}.{'short' if short else 'say'}")
    # Parsed at their line in the table, so that errors name it.
    text = f"#JSGF V1.0; grammar {NAME};{chr(10) * (line - 1)}<forms> = {' | '.join(forms)};"
    (rule,) = parse_jsgf(text, FILE).rules
    return Tagged(rule.expansion, f"quantity = {quantity}", line)
