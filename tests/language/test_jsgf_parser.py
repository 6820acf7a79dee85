from pathlib import Path

import pytest

from handsfree.errors import GrammarError
from handsfree.language.jsgf_parser import parse_jsgf
from handsfree.language.syntax_tree import (
    Alternatives,
    Import,
    Null,
    OptionalGroup,
    Reference,
    Repeat,
    Sequence,
    Tagged,
    Token,
)

HEADER = "#JSGF V1.0 UTF-8 en;\ngrammar doors;\n"


def expansion(text: str):
    return parse_jsgf(f"{HEADER}public <top> = {text};", Path("doors.jsgf")).rules[0].expansion


def test_every_construct_becomes_its_node():
    assert expansion("open the door") == Sequence((Token("open"), Token("the"), Token("door")))
    assert expansion("left | right") == Alternatives((Token("left"), Token("right")), (1.0, 1.0))
    assert expansion("/3/ left | /0.5/ right").weights == (3.0, 0.5)
    assert expansion("[the]") == OptionalGroup(Token("the"))
    assert expansion("stop+") == Repeat(Token("stop"), 1)
    assert expansion("(left | right)*").at_least == 0
    assert expansion("<NULL>") == Null()
    assert expansion("<leaf>") == Reference("leaf", 3)
    assert expansion('"Stand by"') == Token("stand by")


def test_a_tag_belongs_to_the_item_before_it():
    assert expansion("left leaf {x = 1} {y = 2}") == Sequence(
        (Token("left"), Tagged(Tagged(Token("leaf"), "x = 1", 3), "y = 2", 3))
    )


def test_imports_comments_and_public():
    parsed = parse_jsgf(
        HEADER
        + """import <names.leaf>; // one rule
        import <numbers.*>;
        /* a comment
           of two lines */
        public <top> = <leaf>;
        <grammar> = public;
        """,
        Path("doors.jsgf"),
    )
    assert parsed.imports == (Import("names", "leaf", 3), Import("numbers", "*", 4))
    assert [(rule.name, rule.public, rule.line) for rule in parsed.rules] == [
        ("top", True, 7),
        ("grammar", False, 8),
    ]


@pytest.mark.parametrize(
    ("text", "line", "expects"),
    [
        ("grammar doors;\n<top> = left;", 1, "'#JSGF V1.0;'"),
        (HEADER + "<top> = left\n<other> = right;", 4, "';'"),
        (HEADER + "\n<top> = (left | right;", 4, "')'"),
        (HEADER + "<top> = left |;", 3, "a word"),
        (HEADER + "<top> = left {x = 1;", 3, "'{tag}'"),
        (HEADER + "<top> = left", 3, "';'"),
        (HEADER + "import <leaf>;", 3, "'<grammar.rule>'"),
        (HEADER + "<top> = left;\n<top> = right;", 4, "defined twice"),
    ],
)
def test_a_broken_text_is_named_with_file_and_line(text: str, line: int, expects: str):
    with pytest.raises(GrammarError) as caught:
        parse_jsgf(text, Path("doors.jsgf"))
    assert str(caught.value).startswith(f"doors.jsgf, line {line}: ")
    assert expects in str(caught.value)
