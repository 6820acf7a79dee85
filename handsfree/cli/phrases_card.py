"""The card: one page to print, with the phrases of a visit in every language."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape
from itertools import zip_longest

from handsfree.errors import WordingError
from handsfree.language.interpreter import Language
from handsfree.language.phrase_table import Phrase, phrases
from handsfree.language.phrase_texts import CardGroup, PhraseTexts

_PAGE = """<!doctype html>
<html lang="{language}">
<head>
<meta charset="utf-8">
<title>handsfree</title>
<style>
@page {{ margin: 8mm 10mm; }}
* {{ box-sizing: border-box; }}
body {{
  margin: 0 auto; max-width: 196mm; color: #000; background: #fff;
  font-family: "Helvetica Neue", Arial, "Liberation Sans", sans-serif;
}}
table {{ width: 100%; border-collapse: collapse; table-layout: fixed; }}
td, th {{ padding: 0 3mm 0 0; text-align: left; vertical-align: top; }}
td + td, th + th {{ border-left: 0.3mm solid #000; padding: 0 0 0 3mm; }}
thead th {{ font-size: 20pt; line-height: 1; padding-bottom: 1.5mm; }}
thead small {{ font-size: 11pt; font-weight: normal; padding-left: 2mm; }}
.warning td, .warning td + td {{
  border: 0.9mm solid #000; padding: 1.5mm 3mm;
  font-size: 13.5pt; font-weight: bold; line-height: 1.15;
}}
.group th {{
  padding-top: 1.8mm;
  font-size: 9.5pt; letter-spacing: 0.1em; text-transform: uppercase;
}}
.group th span {{ display: block; border-bottom: 0.5mm solid #000; }}
.phrase div {{
  display: flex; flex-wrap: wrap; justify-content: space-between; align-items: baseline;
  column-gap: 3mm; padding: 0.42mm 0; line-height: 1.1;
  border-bottom: 0.15mm solid #888;
}}
.phrase b {{ font-size: 14pt; }}
.phrase span {{ font-size: 10pt; margin-left: auto; text-align: right; }}
.foot td {{ padding-top: 2mm; font-size: 10pt; line-height: 1.2; }}
</style>
</head>
<body>
<table>
<thead>
{head}
</thead>
<tbody>
{rows}
</tbody>
</table>
</body>
</html>
"""


def card(languages: Sequence[tuple[Language, PhraseTexts]]) -> str:
    """The page as self-contained HTML, with a column for each language.

    Raises WordingError when a phrase of the card is not a sentence of its language.
    """
    columns = [_column(language, texts) for language, texts in languages]
    titles = [
        f"{escape(texts.card.title)} <small>handsfree, {escape(texts.name)}</small>"
        for _, texts in languages
    ]
    cards = [texts.card for _, texts in languages]
    rows = [
        _row("warning", [escape(one.warning) for one in cards]),
        *(_row(cells[0][0], [text for _, text in cells]) for cells in _side_by_side(columns)),
        _row("foot", [escape(one.foot) for one in cards]),
    ]
    head = f"<tr>{''.join(f'<th>{title}</th>' for title in titles)}</tr>"
    return _PAGE.format(language=languages[0][1].language, head=head, rows="\n".join(rows))


_Cell = tuple[str, str]


def _side_by_side(columns: list[list[list[_Cell]]]) -> list[list[_Cell]]:
    """Rows of all columns, group by group, so that the same groups are side by side."""
    rows: list[list[_Cell]] = []
    for groups in zip_longest(*columns, fillvalue=[]):
        for cells in zip_longest(*groups, fillvalue=("", "")):
            kind = next(kind for kind, _ in cells if kind)
            rows.append([(kind, text) for _, text in cells])
    return rows


def _column(language: Language, texts: PhraseTexts) -> list[list[_Cell]]:
    """The groups of one language, each a title and its phrases."""
    known = phrases(language, texts)
    return [
        [
            ("group", f"<span>{escape(group.title)}</span>"),
            *(("phrase", text) for text in _phrases(language, texts, group, known)),
        ]
        for group in texts.card.group
    ]


def _phrases(
    language: Language, texts: PhraseTexts, group: CardGroup, known: Sequence[Phrase]
) -> list[str]:
    cells: list[str] = []
    above = ""
    for said in group.say:
        meaning = language.parse(said)
        if meaning is None:
            raise WordingError(
                f"the card of '{texts.language}' has '{said}', which is not a sentence",
                way_out="use a phrase that 'handsfree phrases' lists",
            )
        does = _does(meaning.kind, getattr(meaning, "value", None), known)
        told = "" if does == above else f"<span>{escape(does)}</span>"
        cells.append(f"<div><b>{escape(said)}</b>{told}</div>")
        above = does
    return cells


def _does(kind: str, value: object, known: Sequence[Phrase]) -> str:
    own = [row for row in known if row.kind == kind]
    exact = (row.does for row in own if row.about == f"value={value}")
    return next(exact, own[0].does)


def _row(kind: str, cells: list[str]) -> str:
    tag = "th" if kind == "group" else "td"
    return f'<tr class="{kind}">{"".join(f"<{tag}>{cell}</{tag}>" for cell in cells)}</tr>'
