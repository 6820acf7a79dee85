"""Makes the grammar 'visit_facts' of a language from the tables of visit_facts.toml.

<visit_fact> covers every statement of a visit fact: its name with a value, alone, or after
'withdraw'. <fact_name> covers every name.
"""

from __future__ import annotations

from handsfree.job.visit_fact import FILE, VISIT_FACTS, VisitFact, line_of, visit_fact_words
from handsfree.language.jsgf_parser import parse_jsgf
from handsfree.language.syntax_tree import (
    Alternatives,
    GrammarFile,
    Import,
    Node,
    OptionalGroup,
    Reference,
    Rule,
    Sequence,
    Tagged,
)

NAME = "visit_facts"
"""Name by which other files of the grammar import it."""
_NAMES = "fact_name"
_BORROWED = "paper"
"""The grammar file of the language for parts of a statement: a code, a date, a leaf."""


def visit_fact_grammar(language: str) -> GrammarFile:
    """The rules of a language's visit facts.

    Raises GrammarError with the line of a form that is not valid JSGF, HandsfreeError with the
    line of a table without words of the language.
    """
    facts = VISIT_FACTS.values()
    back = Sequence((Reference("take_back", 1), Reference(_NAMES, 1)))
    stated = tuple(_stated(fact, language) for fact in facts)
    rules = (
        _rule("visit_fact", (*stated, Tagged(back, "withdrawn = true", 1))),
        _rule(_NAMES, tuple(_named(fact, language) for fact in facts)),
    )
    return GrammarFile(NAME, FILE, (Import(_BORROWED, "*", 1),), rules)


def _rule(name: str, options: tuple[Node, ...]) -> Rule:
    return Rule(name, public=True, expansion=_either(options), file=FILE, line=1)


def _named(fact: VisitFact, language: str) -> Node:
    """The name of a fact, with its leaf if each leaf has its own."""
    line = line_of(f"fact.{fact.id}", language)
    said = _parsed(visit_fact_words(fact.id, language).say, line)
    if fact.leaf:
        said = Sequence((OptionalGroup(Reference("of_leaf", line)), said))
    return Tagged(said, f"fact = {fact.id}", line)


def _stated(fact: VisitFact, language: str) -> Node:
    """A fact with its value, or its name alone."""
    named, value = _named(fact, language), _value(fact, language)
    return named if value is None else Sequence((named, OptionalGroup(value)))


def _value(fact: VisitFact, language: str) -> Node | None:
    """The spoken forms of a fact's value; None if it is a free utterance, or has no value."""
    line = line_of(f"fact.{fact.id}", language)
    match fact.takes:
        case "code":
            return Reference("spelled", line)
        case "date":
            return Reference("date", line)
        case "choice":
            answers = visit_fact_words(fact.id, language).values
            return _either(
                tuple(
                    Tagged(_parsed(answers[value].say, line), f"answer = {value}", line)
                    for value in fact.values
                )
            )
        case _:
            return None


def _either(options: tuple[Node, ...]) -> Node:
    return Alternatives(options, (1.0,) * len(options))


def _parsed(forms: tuple[str, ...], line: int) -> Node:
    """Parses forms at their line in the table, so that errors name it."""
    text = f"#JSGF V1.0; grammar {NAME};{chr(10) * (line - 1)}<forms> = {' | '.join(forms)};"
    (rule,) = parse_jsgf(text, FILE).rules
    return rule.expansion
