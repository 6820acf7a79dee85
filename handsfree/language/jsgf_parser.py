"""Parses the text of one JSGF file (W3C Note 2000) into a syntax tree.

Not supported: ``<VOID>``, and rules that refer to themselves (see linker.py).
"""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Any

from lark import Lark, Transformer, UnexpectedInput, v_args
from lark.exceptions import UnexpectedCharacters, UnexpectedEOF
from lark.lexer import Token as LarkToken

from handsfree.errors import GrammarError
from handsfree.language.syntax_tree import (
    Alternatives,
    GrammarFile,
    Import,
    Node,
    Null,
    OptionalGroup,
    Reference,
    Repeat,
    Rule,
    Sequence,
    Tagged,
    Token,
)

_SYNTAX = r"""
start: HEADER "grammar" GRAMMAR_NAME ";" import_* rule*
import_: "import" IMPORTED ";"
rule: [PUBLIC] NAME "=" alternatives ";"
alternatives: option ("|" option)*
option: [WEIGHT] sequence
sequence: tagged+
tagged: repeated TAG*
?repeated: atom | atom "*" -> star | atom "+" -> plus
?atom: WORD -> token
     | QUOTED -> quoted
     | NAME -> reference
     | "(" alternatives ")"
     | "[" alternatives "]" -> optional

HEADER: /#JSGF[ \t]+V1\.0[^;\n]*;/
PUBLIC: "public"
IMPORTED: /<[^<>;\s]+\.[^<>;.\s]+>/
NAME: /<[^<>;\s]+>/
WEIGHT: /\/\s*\d+(\.\d*)?\s*\//
TAG: /\{(\\.|[^{}\\])*\}/
QUOTED: /"(\\.|[^"\\])*"/
GRAMMAR_NAME: /[\w.]+/
WORD: /[^\s;=|*+<>()\[\]{}\/"]+/
COMMENT: /\/\/[^\n]*/ | /\/\*(.|\n)*?\*\//
%import common.WS
%ignore WS
%ignore COMMENT
"""

_SAID = {
    "HEADER": "'#JSGF V1.0;'",
    "PUBLIC": "'public'",
    "IMPORTED": "'<grammar.rule>' or '<grammar.*>'",
    "NAME": "'<rule>'",
    "WEIGHT": "'/weight/'",
    "TAG": "'{tag}'",
    "QUOTED": "a quoted word",
    "GRAMMAR_NAME": "the grammar's name",
    "WORD": "a word",
    "GRAMMAR": "'grammar'",
    "IMPORT": "'import'",
    "SEMICOLON": "';'",
    "EQUAL": "'='",
    "VBAR": "'|'",
    "STAR": "'*'",
    "PLUS": "'+'",
    "LPAR": "'('",
    "RPAR": "')'",
    "LSQB": "'['",
    "RSQB": "']'",
    "$END": "the end of the file",
}


def parse_jsgf(text: str, file: Path) -> GrammarFile:
    """Parses a JSGF text; ``file`` is only named in the tree and in errors.

    Raises GrammarError with file and line if the text is not JSGF.
    """
    try:
        tree = _parser().parse(text)
    except UnexpectedInput as error:
        line = text.count("\n") + 1 if isinstance(error, UnexpectedEOF) else error.line
        raise GrammarError(_complaint(error), file=file, line=max(line, 1)) from error
    parsed: GrammarFile = _Tree(file).transform(tree)
    _refuse_doubles(parsed)
    return parsed


@cache
def _parser() -> Lark:
    return Lark(_SYNTAX, parser="lalr", propagate_positions=False)


def _complaint(error: UnexpectedInput) -> str:
    expected: set[str] | None
    if isinstance(error, UnexpectedCharacters):
        found, expected = f"'{error.char}'", error.allowed
    else:
        token = getattr(error, "token", None)
        found = f"'{token}'" if token else "the end of the file"
        expected = getattr(error, "accepts", None) or getattr(error, "expected", None)
    names = sorted(_SAID.get(name, name) for name in expected or ())
    return f"{found} is not allowed here; expected {' or '.join(names)}"


def _refuse_doubles(parsed: GrammarFile) -> None:
    seen: dict[str, int] = {}
    for rule in parsed.rules:
        if rule.name in seen:
            raise GrammarError(
                f"<{rule.name}> is defined twice, first on line {seen[rule.name]}",
                file=parsed.file,
                line=rule.line,
            )
        seen[rule.name] = rule.line


def _name(token: LarkToken) -> str:
    return str(token)[1:-1]


def _line(token: LarkToken) -> int:
    return token.line or 0


@v_args(inline=True)
class _Tree(Transformer[LarkToken, Any]):
    """Transforms lark's tree into the nodes of ``syntax_tree``."""

    def __init__(self, file: Path) -> None:
        super().__init__()
        self._file = file

    def start(self, _header: LarkToken, name: LarkToken, *rest: Import | Rule) -> GrammarFile:
        return GrammarFile(
            name=str(name),
            file=self._file,
            imports=tuple(item for item in rest if isinstance(item, Import)),
            rules=tuple(item for item in rest if isinstance(item, Rule)),
        )

    def import_(self, name: LarkToken) -> Import:
        grammar, _, rule = _name(name).rpartition(".")
        return Import(grammar=grammar, rule=rule, line=_line(name))

    def rule(self, public: LarkToken | None, name: LarkToken, expansion: Node) -> Rule:
        return Rule(
            name=_name(name),
            public=public is not None,
            expansion=expansion,
            file=self._file,
            line=_line(name),
        )

    def alternatives(self, *options: tuple[float, Node]) -> Node:
        if len(options) == 1:
            return options[0][1]
        return Alternatives(
            options=tuple(node for _, node in options),
            weights=tuple(weight for weight, _ in options),
        )

    def option(self, weight: LarkToken | None, node: Node) -> tuple[float, Node]:
        return (float(weight[1:-1]) if weight else 1.0, node)

    def sequence(self, *items: Node) -> Node:
        return items[0] if len(items) == 1 else Sequence(items)

    def tagged(self, item: Node, *tags: LarkToken) -> Node:
        for tag in tags:
            item = Tagged(item, tag[1:-1].strip(), _line(tag))
        return item

    def star(self, item: Node) -> Node:
        return Repeat(item, 0)

    def plus(self, item: Node) -> Node:
        return Repeat(item, 1)

    def token(self, word: LarkToken) -> Node:
        return Token(str(word).lower())

    def quoted(self, word: LarkToken) -> Node:
        return Token(word[1:-1].replace('\\"', '"').lower())

    def reference(self, name: LarkToken) -> Node:
        return Null() if name == "<NULL>" else Reference(_name(name), _line(name))

    def optional(self, item: Node) -> Node:
        return OptionalGroup(item)
