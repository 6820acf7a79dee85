"""Prints text that people and files supply, without letting it control the terminal.

A name, a note or a journal from elsewhere may contain control characters, which move the cursor or
set the title, and direction characters, which reverse text. They are printed as codes.
"""

from __future__ import annotations

import json
import shutil
import sys
import textwrap
import unicodedata
from collections.abc import Iterable
from typing import Any

import click

_KEPT = "\n\t"
_HIDDEN = ("Cc", "Cf", "Cs", "Zl", "Zp")
_HARMLESS = "\u00ad\u200c\u200d"  # they join and separate letters


def shown(text: str) -> str:
    """The text with control and direction characters written as JSON escapes."""
    if text.isprintable():
        return text
    return "".join(_code(c) if _commands(c) else c for c in text)


def _code(c: str) -> str:
    """The JSON escape of a character: a surrogate pair beyond four hex digits."""
    codes = c.encode("utf-16-be", "surrogatepass").hex()
    return "".join(f"\\u{codes[i : i + 4]}" for i in range(0, len(codes), 4))


def _commands(c: str) -> bool:
    return c not in _KEPT and c not in _HARMLESS and unicodedata.category(c) in _HIDDEN


def echo(text: str = "", *, err: bool = False, nl: bool = True) -> None:
    """Prints a text with its control characters escaped.

    A message on a terminal is wrapped, because a terminal breaks a long line in the middle of a
    word.
    """
    if err and sys.stderr.isatty():
        text = wrapped(text, shutil.get_terminal_size().columns)
    click.echo(shown(text), err=err, nl=nl)


def wrapped(text: str, width: int) -> str:
    """The lines of a text, broken between words; a longer word stays whole."""
    return "\n".join(
        "\n".join(
            textwrap.wrap(
                line,
                max(width, 1),
                replace_whitespace=False,
                break_long_words=False,
                break_on_hyphens=False,
            )
        )
        for line in text.split("\n")
    )


def echo_json(value: object) -> None:
    """Prints a list or an object as indented JSON without escaping letters."""
    echo(json.dumps(value, indent=2, ensure_ascii=False))


def never_fail_on_letters(streams: Iterable[Any] = ()) -> None:
    """Makes streams escape characters that their encoding lacks."""
    for stream in streams or (sys.stdin, sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="backslashreplace")
