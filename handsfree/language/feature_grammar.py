"""Makes the grammar 'features' of a language from the tables of door_features.toml.

<feature_answer> covers every answer alone, <feature_fact> every statement about the door.
"""

from __future__ import annotations

from collections.abc import Iterator

from handsfree.job.door_feature import (
    ANSWERS,
    FEATURES,
    FILE,
    YES_NO,
    DoorFeature,
    answer_words,
    feature_words,
    line_of,
)
from handsfree.language.jsgf_parser import parse_jsgf
from handsfree.language.syntax_tree import (
    Alternatives,
    GrammarFile,
    Import,
    Node,
    Rule,
    Sequence,
    Tagged,
)

NAME = "features"
"""Name by which other files of the grammar import it."""
_BORROWED = "names"
"""The grammar file of the language whose rules a form may refer to."""


def feature_grammar(language: str) -> GrammarFile:
    """The rules of a language's door features.

    Raises GrammarError with the line of a form that is not valid JSGF, HandsfreeError with the
    line of a table without words of the language.
    """
    answers = tuple(_answer(answer, language) for answer in ANSWERS)
    facts = tuple(fact for feature in FEATURES.values() for fact in _facts(feature, language))
    rules = (_rule("feature_answer", answers), _rule("feature_fact", facts))
    return GrammarFile(NAME, FILE, (Import(_BORROWED, "*", 1),), rules)


def _rule(name: str, options: tuple[Node, ...]) -> Rule:
    node = Alternatives(options, (1.0,) * len(options))
    return Rule(name, public=True, expansion=node, file=FILE, line=1)


def _answer(answer: str, language: str) -> Node:
    line = line_of(f"value.{answer}", language)
    return Tagged(_parsed(answer_words(answer, language).say, line), f"value = {answer}", line)


def _facts(feature: DoorFeature, language: str) -> Iterator[Node]:
    """The statements of a feature, each with the tags of its subject, name and value."""
    words = feature_words(feature.id, language)
    table = f"feature.{feature.id}"
    if feature.yes_or_no:
        for value in YES_NO:
            line = line_of(table, f"{language}.{value}")
            said = _parsed(words.yes if value == "yes" else words.no, line)
            yield _tagged(feature, Tagged(said, f"value = {value}", line), line)
        return
    line = line_of(table, f"{language}.state")
    answers = tuple(_answer(value, language) for value in feature.values)
    which = Alternatives(answers, (1.0,) * len(answers))
    yield _tagged(feature, Sequence((_parsed(words.state, line), which)), line)


def _tagged(feature: DoorFeature, said: Node, line: int) -> Node:
    named = Tagged(said, f"name = {feature.id}", line)
    return Tagged(named, "subject = opening", line) if feature.of == "opening" else named


def _parsed(forms: tuple[str, ...], line: int) -> Node:
    """Parses forms at their line in the table, so that errors name it."""
    text = f"#JSGF V1.0; grammar {NAME};{chr(10) * (line - 1)}<forms> = {' | '.join(forms)};"
    (rule,) = parse_jsgf(text, FILE).rules
    return rule.expansion
