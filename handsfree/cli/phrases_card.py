"""The phrase card: the phrases of a visit in every language, on one sheet or on a phone."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

from handsfree.errors import WordingError
from handsfree.language.interpreter import Language
from handsfree.language.phrase_table import Phrase, phrases
from handsfree.language.phrase_texts import CardGroup, PhraseTexts

_PAGE = """<!doctype html>
<html lang="{language}">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="color-scheme" content="light dark">
<title>handsfree</title>
<style>
:root {{ --ink: #000; --paper: #fff; --line: #888; }}
@media (prefers-color-scheme: dark) {{
  :root {{ --ink: #f2f2f2; --paper: #111; --line: #777; }}
}}
@page {{ margin: 6mm 10mm; }}
* {{ box-sizing: border-box; }}
body {{
  margin: 0 auto; padding: 3mm; max-width: 202mm; color: var(--ink); background: var(--paper);
  font-family: "Helvetica Neue", Arial, "Liberation Sans", sans-serif;
}}
main {{ display: grid; grid-template-columns: minmax(0, 1fr); gap: 8mm 3mm; }}
section + section {{ border-top: 0.3mm solid var(--ink); padding-top: 6mm; }}
h1 {{ font-size: 20pt; line-height: 1; margin: 0 0 1.5mm; }}
h1 small {{ font-size: 11pt; font-weight: normal; padding-left: 2mm; }}
.warning {{
  margin: 0; border: 0.9mm solid var(--ink); padding: 1.5mm 3mm;
  font-size: 13.5pt; font-weight: bold; line-height: 1.15;
}}
h2 {{
  margin: 0; padding-top: 1.6mm; border-bottom: 0.5mm solid var(--ink);
  font-size: 9.5pt; letter-spacing: 0.1em; text-transform: uppercase;
}}
dl {{ margin: 0; }}
dl div {{
  display: flex; flex-wrap: wrap; justify-content: space-between; align-items: baseline;
  column-gap: 3mm; padding: 0.3mm 0; line-height: 1.08;
  border-bottom: 0.15mm solid var(--line);
}}
dt {{ font-size: 13.5pt; font-weight: bold; }}
dd {{ margin: 0 0 0 auto; font-size: 10pt; text-align: right; }}
.foot {{ margin: 2mm 0 0; font-size: 10pt; line-height: 1.2; }}
@media print {{
  :root {{ --ink: #000; --paper: #fff; --line: #888; }}
  body {{ padding: 0; }}
  h2 {{ padding-top: 1mm; font-size: 8.5pt; }}
  dl div {{ padding: 0.1mm 0; line-height: 1.04; }}
  dt {{ font-size: 10.5pt; }}
  dd {{ font-size: 8.5pt; }}
  .warning {{ font-size: 12pt; }}
  .foot {{ font-size: 9pt; }}
}}
@media print, (min-width: 700px) {{
  main {{ grid-template-columns: repeat({columns}, minmax(0, 1fr)); }}
  section + section {{
    border-top: 0; padding-top: 0; border-left: 0.3mm solid var(--ink); padding-left: 3mm;
  }}
}}
</style>
</head>
<body>
<main>
{sections}
</main>
</body>
</html>
"""


def card(languages: Sequence[tuple[Language, PhraseTexts]]) -> str:
    """The page as self-contained HTML, with a section for each language.

    The sections are side by side on paper and wide screens, one below the other on a phone. Raises
    WordingError if a phrase of the card is not a sentence of its language.
    """
    sections = "\n".join(_section(language, texts) for language, texts in languages)
    first = languages[0][1].language
    return _PAGE.format(language=first, columns=len(languages), sections=sections)


def _section(language: Language, texts: PhraseTexts) -> str:
    known, one = phrases(language, texts), texts.card
    parts = [
        f'<section lang="{texts.language}">',
        f"<h1>{escape(one.title)} <small>handsfree, {escape(texts.name)}</small></h1>",
        f'<p class="warning">{escape(one.warning)}</p>',
    ]
    for group in one.group:
        parts.append(f"<h2>{escape(group.title)}</h2>")
        parts.append(f"<dl>{''.join(_phrases(language, texts, group, known))}</dl>")
    if unused := set(one.does) - {said for group in one.group for said in group.say}:
        raise WordingError(
            f"the card of '{texts.language}' explains '{min(unused)}', which it does not list",
            way_out="add the phrase to a group of the card, or take the line out",
        )
    return "\n".join([*parts, f'<p class="foot">{escape(one.foot)}</p>', "</section>"])


def _phrases(
    language: Language, texts: PhraseTexts, group: CardGroup, known: Sequence[Phrase]
) -> list[str]:
    """The phrases of a group, each with its effect; a repeated effect is stated only once."""
    cells: list[str] = []
    told = ""
    for said in group.say:
        does = _does(language, said, known)
        does = texts.card.does.get(said, does) if does is not None else None
        if does is None:
            raise WordingError(
                f"the card of '{texts.language}' has '{said}', which is not a sentence",
                way_out="use a phrase that 'handsfree phrases' lists",
            )
        shown = "" if does == told else escape(does)
        cells.append(f"<div><dt>{escape(said)}</dt><dd>{shown}</dd></div>")
        told = does
    return cells


def _does(language: Language, said: str, known: Sequence[Phrase]) -> str | None:
    """The effect of a word while the clock runs, or of a sentence; None if it is neither."""
    mark, meaning = language.mark(said), language.parse(said)
    if mark is not None:  # here 'ten' marks a moment of the cycle; anywhere else it is a reading
        return next(row.does for row in known if row.about == f"mark={mark}")
    if meaning is None:
        return None
    own = [row for row in known if row.kind == meaning.kind]
    value = getattr(meaning, "value", None)
    exact = (row.does for row in own if row.about == f"value={value}")
    return next(exact, own[0].does)
