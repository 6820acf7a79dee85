"""Lists every phrase of a language in rows for people.

A row is a complete sentence, or a part that other rows name in angle brackets. Together the rows
contain exactly what the grammar contains.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from handsfree.errors import WordingError
from handsfree.job.record import Record
from handsfree.language.interpreter import Language
from handsfree.language.phrase_texts import PhraseTexts, phrase_texts
from handsfree.language.quantity_grammar import NAME as QUANTITIES
from handsfree.language.readable_notation import either, notation
from handsfree.language.syntax_tree import Alternatives, Node, Reference, Sequence, Tagged

LONGEST = 100
"""Longest row of alternatives (characters); longer ones are split into several rows."""
SHORT = 24
"""Longest alternatives that share a row when split (characters); longer ones get their own row."""

_DESCRIBED_TAGS = (
    "kind",
    "value",
    "name",
    "quantity",
    "open_time",
    "unit",
    "stage",
    "subject",
    "mark",
    "fact",
)


class Phrase(Record):
    """One row: ``said`` is the phrase in the notation of ``handsfree.language.readable_notation``.

    ``kind`` is the kind of meaning of a complete sentence, or None. ``part`` is the name of the
    part of which the row is one form, or None. ``about`` is the tag that distinguishes the row from
    others of its kind or part, 'value=left'. ``does`` describes its effect in a few words.
    """

    group: str
    kind: str | None
    part: str | None
    about: str | None
    said: str
    does: str


@dataclass(frozen=True)
class _Option:
    about: str | None
    node: Node


def phrases(language: Language, texts: PhraseTexts | None = None) -> tuple[Phrase, ...]:
    """Lists every row of a language, group by group in the order of its texts.

    Raises WordingError if the texts name an unknown rule or group, or lack a kind of meaning.
    """
    return _Table(language, texts or phrase_texts(language.wording.language)).rows()


class _Table:
    def __init__(self, language: Language, texts: PhraseTexts) -> None:
        self.grammar = language.grammar
        self.texts = texts
        # A rule without any quantity is not part of the grammar.
        parts = {
            rule: part
            for rule, part in texts.part.items()
            if rule in self.grammar.rules or not rule.startswith(f"{QUANTITIES}.")
        }
        self.parts = parts
        self.names = {rule: part.name for rule, part in parts.items()}
        named = list(self.names.values())
        for rule, part in parts.items():
            if named.count(part.name) > 1:
                raise self._fault(f"two parts are called '{part.name}'")
            if rule not in self.grammar.rules:
                raise self._fault(f"<{rule}> is not a rule of the grammar")
        for group in (*texts.listed.values(), *(part.group for part in parts.values())):
            if group not in texts.group:
                raise self._fault(f"there is no group '{group}'")

    def rows(self) -> tuple[Phrase, ...]:
        """All rows: in each group complete sentences first, then the parts in the order of the
        texts.
        """
        found = [*self._sentences(), *self._parts()]
        order = list(self.texts.group)
        found.sort(key=lambda row: (order.index(row.group), row.part is not None))
        return tuple(found)

    def _utterances(self) -> Iterator[tuple[str | None, Node, str | None]]:
        """Each kind of sentence, its node, and its part if it is nothing else."""
        whole = self.grammar.expansion("utterance")
        for option in whole.options if isinstance(whole, Alternatives) else (whole,):
            node, kind = _kind(option)
            if isinstance(node, Reference) and node.rule in self.names:
                yield kind, self.grammar.rules[node.rule].expansion, node.rule
            else:
                yield kind, node, None

    def _sentences(self) -> Iterator[Phrase]:
        for kind, node, part in self._utterances():
            for about, said in self._split(node):
                row_kind = kind or (about or "").removeprefix("kind=")
                yield Phrase(
                    group=self.texts.listed.get(row_kind, "words"),
                    kind=row_kind,
                    part=self.names[part] if part else None,
                    about=about,
                    said=said,
                    does=self._does(about, row_kind),
                )

    def _parts(self) -> Iterator[Phrase]:
        sentences = {part for _, _, part in self._utterances()}
        for rule, part in self.parts.items():
            if rule in sentences:
                continue
            for about, said in self._split(self.grammar.rules[rule].expansion):
                yield Phrase(
                    group=part.group,
                    kind=None,
                    part=part.name,
                    about=about,
                    said=said,
                    does=self._entry(about) or part.does,
                )

    def _split(self, node: Node) -> Iterator[tuple[str | None, str]]:
        """Rows of a node: different meanings apart, the rest together if it fits."""
        by_meaning: dict[str | None, list[str]] = {}
        for option in self._options(node, None):
            said = notation(option.node, self.grammar, self.names)
            by_meaning.setdefault(option.about, []).append(said)
        for about, some in by_meaning.items():
            for said in _rows(some):
                yield about, said

    def _options(self, node: Node, about: str | None) -> Iterator[_Option]:
        match node:
            case Alternatives(options):
                for option in options:
                    yield from self._options(option, about)
            case Reference(rule) if rule not in self.names:
                yield from self._options(self.grammar.rules[rule].expansion, about)
            case Tagged(item):
                yield from self._options(item, self._described_tag(node) or about)
            case _:
                yield _Option(self._described_tag(node) or about, node)

    def _described_tag(self, node: Node) -> str | None:
        """The tag of a sentence or part that the texts describe."""
        match node:
            case Tagged(item, tag):
                own = "=".join(piece.strip() for piece in tag.split("="))
                return own if self._entry(own) else self._described_tag(item)
            case Sequence(items):
                tagged = (self._described_tag(item) for item in items if isinstance(item, Tagged))
                return next((tag for tag in tagged if tag), None)
            case _:
                return None

    def _entry(self, about: str | None) -> str | None:
        name, _, value = (about or "").partition("=")
        return self.texts.does.get(name, {}).get(value) if name in _DESCRIBED_TAGS else None

    def _does(self, about: str | None, kind: str) -> str:
        does = self._entry(about) or self._entry(f"kind={kind}")
        if does is None:
            raise self._fault(f"[does.kind] has no entry for '{kind}'")
        return does

    def _fault(self, problem: str) -> WordingError:
        return WordingError(f"the phrases of '{self.texts.language}': {problem}")


def _rows(options: list[str]) -> list[str]:
    """Puts alternatives on as few readable rows as possible."""
    whole = either(options)
    if len(whole) <= LONGEST:
        return [whole]
    if max(len(option) for option in options) > SHORT:
        return options
    rows = [options[0]]
    for option in options[1:]:
        longer = f"{rows[-1]} / {option}"
        if len(longer) <= LONGEST:
            rows[-1] = longer
        else:
            rows.append(option)
    return rows


def _kind(option: Node) -> tuple[Node, str | None]:
    """Separates a sentence from the tag of its kind."""
    if isinstance(option, Tagged) and option.tag.replace(" ", "").startswith("kind="):
        return option.item, option.tag.partition("=")[2].strip()
    return option, None


def by_group(rows: Iterable[Phrase]) -> dict[str, list[Phrase]]:
    """Groups the rows, in order."""
    found: dict[str, list[Phrase]] = {}
    for row in rows:
        found.setdefault(row.group, []).append(row)
    return found
