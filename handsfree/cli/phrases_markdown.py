"""Writes the tables of phrases between the markers of a Markdown file."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from pathlib import Path

from handsfree.errors import HandsfreeError
from handsfree.job.quantity import QUANTITIES
from handsfree.job.unit import Unit
from handsfree.language.phrase_table import Phrase, by_group
from handsfree.language.phrase_texts import PhraseTexts

QUANTITIES_MARK = "quantities"
"""Name of the markers around the table of what can be measured."""


def has_mark(text: str, what: str) -> bool:
    """True if a text has the markers for a table."""
    return f"<!-- {what} -->" in text


def written_into(text: str, texts: PhraseTexts, rows: Iterable[Phrase], file: Path) -> str:
    """The text with the language's tables replaced.

    Raises HandsfreeError, with the name of the file, if the markers are missing.
    """
    return _between(text, f"phrases {texts.language}", markdown(texts, rows), file)


def quantities_written_into(text: str, file: Path) -> str:
    """The text with the table of quantities replaced. Raises like :func:`written_into`."""
    return _between(text, QUANTITIES_MARK, quantities_markdown(), file)


def _between(text: str, what: str, tables: str, file: Path) -> str:
    begin, end = f"<!-- {what} -->", f"<!-- end of {what} -->"
    before, found, rest = text.partition(begin)
    _, ended, after = rest.partition(end)
    if not found or not ended:
        raise HandsfreeError(
            f"has no markers for the {what}",
            file=file,
            way_out=f"add the two lines {begin} and {end}",
        )
    return f"{before}{begin}\n\n{tables}\n{end}{after}"


def quantities_markdown() -> str:
    """One row per quantity: id, subject, unit, plausible range and use."""
    lines = [_line(("`quantity`", "of", "unit", "usual", "use")), _line(["---"] * 5)]
    for quantity, facts in QUANTITIES.items():
        bare = facts.unit in (Unit.ONE, Unit.STEP)
        units = dict.fromkeys((facts.unit, facts.unit_metric))
        lines.append(
            _line(
                (
                    f"`{quantity}`",
                    facts.of,
                    "" if bare else ", ".join(units),
                    f"{facts.low} to {facts.high}" + ("" if bare else f" {facts.unit}"),
                    facts.use or "none",
                )
            )
        )
    return "\n".join([*lines, ""])


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
    """Part, phrase and description of each row; blank if equal to the one above."""
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
