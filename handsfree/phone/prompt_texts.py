"""Lists the texts to render for a phone without a voice, the most important first."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

import handsfree
from handsfree.language.interpreter import Language
from handsfree.language.wording import languages
from handsfree.phone.carried_job import CarriedJob
from handsfree.phone.spoken_pieces import phrase_key, sentences_of, words_of
from handsfree.toml_source import parse_toml

_PACKAGE = Path(handsfree.__file__).parent
_ROOMS = ("procedure", "diagnosis", "controllers", "checks", "job")
"""Rooms whose data files have texts that are spoken."""
_PROMPTS = ("prompt", "brief", "caution", "called", "item", "adjust", "title", "name", "spoken")
_SEARCHES = ("ask", "found", "remedy", "prove", "complaint", "if_not", "means", "does")
_TIERS = (_PROMPTS, (*_SEARCHES, "say"), ("why",))
_SHARED = frozenset(("name", "ask", "spoken"))
"""Keys with spoken texts in files that serve every language; 'say' lists what people say there."""
_IDS = {
    *("id", "include", "applies", "fact", "needs", "stage", "sees", "effort", "on", "first"),
    *("danger", "waits", "quantity", "setting", "search", "shows", "before", "when", "then"),
    "saved_by",
}
_INSERTED = re.compile(r"\{[^}]*\}")


def texts_to_render(language: Language, jobs: Iterable[CarriedJob] = ()) -> list[str]:
    """The texts, each once: all words, then sentences and phrases, the most important first.

    ``jobs`` are those in the app: their own words and prompts come with the others.
    """
    wording = language.wording
    sentences = list(_plain(wording.sentences))
    named = [*_plain(wording.names), *language.words()]
    tiers: list[list[str]] = [sentences, *([] for _ in _TIERS)]
    for key, text in _data_texts(wording.language, jobs):
        named.append(text)
        for tier, keys in zip(tiers[1:], _TIERS, strict=True):
            if key in keys:
                tier.append(text)
    for job in jobs:
        named += _plain(job.sheet.model_dump(mode="json"))
    words = {
        word.text
        for text in [*named, *(text for tier in tiers for text in tier)]
        for word in words_of(_INSERTED.sub(" ", text), wording)
    }
    found = {word: word for word in sorted(words)}
    for tier in (*tiers[:2], list(_plain(wording.names)), *tiers[2:]):
        for text in tier:
            for fragment in _fragments(text):
                key = phrase_key(fragment, wording)
                if " " in key:
                    found.setdefault(key, fragment)
    return list(found.values())


def _fragments(text: str) -> Iterator[str]:
    """The fixed parts of each sentence of a text."""
    for sentence in sentences_of(text):
        yield from (part.strip(" ,") for part in _INSERTED.split(sentence))


def _plain(value: Any) -> Iterator[str]:
    """Every text in a table."""
    yield from (text for _, text in _keyed(value, "", ""))


def _keyed(value: Any, key: str, language: str) -> Iterator[tuple[str, str]]:
    """Every text in a table with its key, except those of other languages and all ids."""
    if isinstance(value, str):
        yield key, value
    elif isinstance(value, (list, tuple)):
        for each in value:
            yield from _keyed(each, key, language)
    elif isinstance(value, dict):
        for name, each in value.items():
            is_id = name in _IDS and not _has_tables(each)
            if not is_id and (not language or name == language or name not in languages()):
                yield from _keyed(each, name, language)


def _has_tables(value: Any) -> bool:
    """True for a table, and for a list of tables: '[[stage]]' is no id."""
    return isinstance(value, dict) or (isinstance(value, list) and any(map(_has_tables, value)))


def _data_texts(language: str, jobs: Iterable[CarriedJob]) -> Iterator[tuple[str, str]]:
    for room in _ROOMS:
        for file in sorted((_PACKAGE / room).rglob("*.toml")):
            spoken_in = set(file.relative_to(_PACKAGE).parts) & set(languages())
            if not spoken_in:
                table = parse_toml(file.read_text(encoding="utf-8"))
                yield from (each for each in _keyed(table, "", language) if each[0] in _SHARED)
            elif language in spoken_in:
                yield from _keyed(parse_toml(file.read_text(encoding="utf-8")), "", language)
    words = parse_toml((_PACKAGE / "procedure/data/words.toml").read_text(encoding="utf-8"))
    yield from (("prompt", text) for text in _plain(words[language]))
    for job in jobs:
        for text in job.files.values():
            try:
                yield from _keyed(parse_toml(text), "", language)
            except tomllib.TOMLDecodeError:  # not a TOML file; the phone says why when it is used
                continue
