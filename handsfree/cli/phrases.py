"""handsfree phrases: everything that can be said, as a table or as a card to print."""

from __future__ import annotations

from pathlib import Path

import click
from rich import box
from rich.table import Table
from rich.text import Text

from handsfree.cli.phrases_card import card
from handsfree.cli.phrases_markdown import cells, written_into
from handsfree.cli.terminal import echo, new_console
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
    help="Which language to list: en or es.",
)
@click.option(
    "--card",
    "card_file",
    type=click.Path(dir_okay=False, path_type=Path),
    help="Write one page to print instead, with the phrases of a visit in all languages.",
)
@click.option(
    "--into",
    "text_file",
    type=click.Path(dir_okay=False, path_type=Path),
    help="Write the tables of all languages between the marks of a Markdown file instead.",
)
def phrases(language: str, card_file: Path | None, text_file: Path | None) -> None:
    """Lists everything that can be said, or writes it as a card to print.

    In square brackets stands what may be left out; a stroke means 'or'; three dots mean
    'once more'; what stands in angle brackets has rows of its own.

    \b
    Examples:
      handsfree phrases
      handsfree phrases --language es
      handsfree phrases --card card.html
    """
    if card_file is not None:
        page = card([_loaded(code) for code in languages()])
        _write(card_file, page)
        echo(f"{card_file}: one page, to be printed from a browser")
    if text_file is not None:
        text = _read(text_file)
        for code in languages():
            texts = phrase_texts(code)
            rows = all_phrases(Language.load(language=code), texts)
            text = written_into(text, texts, rows, text_file)
        _write(text_file, text)
    if card_file is None and text_file is None:
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
