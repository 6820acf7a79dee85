"""Writes the tables of phrases between the markers of a Markdown file."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from pathlib import Path

from handsfree.errors import HandsfreeError
from handsfree.language.phrase_table import Phrase, by_group
from handsfree.language.phrase_texts import PhraseTexts


def written_into(text: str, texts: PhraseTexts, rows: Iterable[Phrase], file: Path) -> str:
    """The text with the language's tables replaced; errors name ``file``."""
    begin, end = f"<!-- phrases {texts.language} -->", f"<!-- end of phrases {texts.language} -->"
    before, found, rest = text.partition(begin)
    _, ended, after = rest.partition(end)
    if not found or not ended:
        raise HandsfreeError(
            f"has no markers for the phrases of '{texts.language}'",
            file=file,
            way_out=f"add the two lines {begin} and {end}",
        )
    return f"{before}{begin}\n\n{markdown(texts, rows)}\n{end}{after}"


def markdown(texts: PhraseTexts, rows: Iterable[Phrase]) -> str:
    """A heading and a table for each group; a repeated description is left out."""
    lines: list[str] = []
    for group, some in by_group(rows).items():
        parted = any(row.part for row in some)
        head = texts.head if parted else texts.head[1:]
        lines += [f"**{texts.group[group]}**", "", _line(head), _line(["---"] * len(head))]
        for part, said, does in cells(some):
            own = [f"`{part}`" if part else ""] if parted else []
            lines.append(_line([*own, f"`{said}`", does]))
        lines.append("")
    return "\n".join(lines)


def cells(rows: Iterable[Phrase]) -> Iterator[tuple[str, str, str]]:
    """Part, phrase and description of each row; a value equal to the one above is empty."""
    part, does = None, ""
    for row in rows:
        again = row.part == part
        yield (
            f"<{row.part}>" if row.part and not again else "",
            row.said,
            "" if again and row.does == does else row.does,
        )
        part, does = row.part, row.does


def _line(cells: Iterable[str]) -> str:
    return f"| {' | '.join(cells)} |".replace("|  |", "| |")
