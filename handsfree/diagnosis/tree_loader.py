"""Reads a search tree and names every fault of it with its line. docs/search.md has the keys."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from handsfree.diagnosis.search_tree import Cause, Check, SearchTree
from handsfree.diagnosis.tree_checks import head_faults, node_faults, shape_faults
from handsfree.errors import HandsfreeError, SearchTreeError
from handsfree.language.wording import ENGLISH
from handsfree.procedure.text_file import read_text
from handsfree.toml_source import TomlSource, nearest

SHIPPED = Path(__file__).parent / "data"
_KINDS: dict[str, type[Check | Cause]] = {"check": Check, "cause": Cause}


@cache
def shipped_trees(language: str = ENGLISH) -> tuple[str, ...]:
    """The names of the shipped search trees in that language."""
    return tuple(sorted(path.stem for path in (SHIPPED / language).glob("*.toml")))


def load_tree(name_or_path: str | Path, language: str = ENGLISH) -> SearchTree:
    """Loads the shipped tree of that name and language, or the one in a file.

    A shipped one is read once for the whole program. Raises SearchTreeError if there is no such
    tree, and at the first fault of its file.
    """
    name = str(name_or_path)
    known = name in shipped_trees(language)
    return _shipped(name, language) if known else _sound(name_or_path, language)


@cache
def _shipped(name: str, language: str) -> SearchTree:
    return _sound(name, language)


def _sound(name_or_path: str | Path, language: str) -> SearchTree:
    found = _read(*_source(name_or_path, language), language)
    if isinstance(found, SearchTree):
        return found
    raise found[0]


def faults_of(name_or_path: str | Path, language: str = ENGLISH) -> tuple[HandsfreeError, ...]:
    """Every fault of a tree, in the order of its lines; empty if it has none.

    Raises SearchTreeError if there is no such file, or it is not valid TOML.
    """
    found = _read(*_source(name_or_path, language), language)
    return () if isinstance(found, SearchTree) else found


def _source(name_or_path: str | Path, language: str) -> tuple[TomlSource, str]:
    path = Path(name_or_path)
    known = shipped_trees(language)
    if str(name_or_path) in known:
        path = SHIPPED / language / f"{name_or_path}.toml"
    content, text = read_text(path, SearchTreeError, f"name a file or one of: {', '.join(known)}")
    return TomlSource(text, path, SearchTreeError), hashlib.sha256(content).hexdigest()


def _read(
    source: TomlSource, sha256: str, language: str
) -> SearchTree | tuple[HandsfreeError, ...]:
    faults = list(head_faults(source))
    checks, causes = (
        [node for _, node in _nodes(source, table, kind, faults)] for table, kind in _KINDS.items()
    )
    if not faults:
        tree = SearchTree(
            name=Path(source.file).stem,
            language=language,
            title=source.data["title"],
            complaint=source.data["complaint"],
            first=source.data["first"],
            checks=tuple(node for node in checks if isinstance(node, Check)),
            causes=tuple(node for node in causes if isinstance(node, Cause)),
            sha256=sha256,
        )
        faults += shape_faults(source, tree)
        if not faults:
            return tree
    return tuple(sorted(faults, key=lambda fault: fault.line or 0))


def _nodes(
    source: TomlSource, table: str, kind: type[Check | Cause], faults: list[HandsfreeError]
) -> Iterator[tuple[int, Check | Cause]]:
    found = source.data.get(table, [])
    if not isinstance(found, list) or not all(isinstance(raw, dict) for raw in found):
        way_out = f"begin each with a line [[{table}]]"
        faults.append(source.fault(f"'{table}' is not a list of tables", table, 0, table, way_out))
        return
    if not found:
        faults.append(
            source.fault(f"has no [[{table}]]", way_out=f"each {table} begins with [[{table}]]")
        )
    for nth, raw in enumerate(found):
        try:
            node = _node(source, table, kind, nth, raw)
        except SearchTreeError as error:
            faults.append(error)
        else:
            faults += node_faults(source, table, nth, node)
            yield nth, node


def _node(
    source: TomlSource, table: str, kind: type[Check | Cause], nth: int, raw: dict[str, Any]
) -> Check | Cause:
    name = f"{table} '{raw['id']}'" if "id" in raw else f"{table} number {nth + 1}"
    for key in raw:
        if key not in kind.model_fields:
            way_out = nearest(key, kind.model_fields)
            raise source.fault(f"{name} has an unknown key '{key}'", table, nth, key, way_out)
    try:
        return kind.model_validate(raw)
    except ValidationError as error:
        first = error.errors()[0]
        key = str(first["loc"][0])
        if first["type"] == "missing":
            way_out = f"add {key} = ..."
            raise source.fault(f"{name} has no '{key}'", table, nth, way_out=way_out) from error
        reason = first["msg"][:1].lower() + first["msg"][1:]
        where = ".".join(str(part) for part in first["loc"])
        raise source.fault(f"{name}, {where}: {reason}", table, nth, key) from error
