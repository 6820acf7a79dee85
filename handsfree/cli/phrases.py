"""Lists everything that can be said, as tables or as a card to print: ``handsfree phrases``."""

from __future__ import annotations

from pathlib import Path

import click
from rich import box
from rich.table import Table
from rich.text import Text

from handsfree.cli.console import new_console
from handsfree.cli.phrases_card import card
from handsfree.cli.phrases_markdown import (
    QUANTITIES_MARK,
    cells,
    has_mark,
    quantities_written_into,
    written_into,
)
from handsfree.cli.terminal import echo, echo_json
from handsfree.errors import HandsfreeError
from handsfree.language.interpreter import Language
from handsfree.language.phrase_table import Phrase, by_group
from handsfree.language.phrase_table import phrases as all_phrases
from handsfree.language.phrase_texts import PhraseTexts, phrase_texts
from handsfree.language.wording import ENGLISH, languages


@click.command()
@click.option(
    "--language",
    metavar="CODE",
    default=ENGLISH,
    show_default=True,
    help="The language to list: en or es.",
)
@click.option(
    "--card",
    "card_file",
    type=click.Path(dir_okay=False, path_type=Path),
    help="Write a page to print instead, with the phrases of a visit in every language.",
)
@click.option(
    "--into",
    "text_file",
    type=click.Path(dir_okay=False, path_type=Path),
    help="Write the tables of every language, or of what can be measured, between the markers of "
    "a Markdown file instead.",
)
@click.option("--json", "as_json", is_flag=True, help="Print one JSON array instead.")
def phrases(language: str, card_file: Path | None, text_file: Path | None, as_json: bool) -> None:
    """Lists everything that can be said.

    Square brackets hold optional words, a stroke means 'or', three dots mean 'repeat'. What is in
    angle brackets has rows of its own.

    \b
    Examples:
      handsfree phrases
      handsfree phrases --language es
      handsfree phrases --card card.html
    """
    if card_file is not None:
        page = card([_loaded(code) for code in languages()])
        _write(card_file, page)
        echo(f"{card_file}: one page; print it from a browser")
    if text_file is not None:
        text = _read(text_file)
        listed = has_mark(text, QUANTITIES_MARK)
        if listed:
            text = quantities_written_into(text, text_file)
        spoken_too = not listed or has_mark(text, f"phrases {ENGLISH}")
        for code in languages() if spoken_too else ():
            texts = phrase_texts(code)
            rows = all_phrases(Language.load(language=code), texts)
            text = written_into(text, texts, rows, text_file)
        _write(text_file, text)
    if as_json:
        echo_json([row.model_dump(mode="json") for row in all_phrases(*_loaded(language))])
    elif card_file is None and text_file is None:
        spoken, texts = _loaded(language)
        _print(texts, all_phrases(spoken, texts))


def _loaded(code: str) -> tuple[Language, PhraseTexts]:
    return Language.load(language=code), phrase_texts(code)


def _print(texts: PhraseTexts, rows: tuple[Phrase, ...]) -> None:
    console = new_console(highlight=False)
    for group, some in by_group(rows).items():
        parted = any(row.part for row in some)
        table = Table(box=box.SIMPLE_HEAD, padding=(0, 1, 0, 0), title_justify="left")
        table.title = Text(texts.group[group], style="bold")
        for head in texts.head if parted else texts.head[1:]:
            table.add_column(head, overflow="fold")
        for part, said, does in cells(some):
            table.add_row(*([Text(part)] if parted else []), Text(said), Text(does))
        console.print(table)


def _read(file: Path) -> str:
    try:
        return file.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise HandsfreeError(f"cannot be read as UTF-8 text: {error}", file=file) from error


def _write(file: Path, text: str) -> None:
    try:
        file.write_text(text, encoding="utf-8")
    except OSError as error:
        raise HandsfreeError(
            f"cannot be written: {error.strerror}", file=file, way_out="name another file"
        ) from error
