"""A procedure's own file and the parts that it includes, in the order of their steps."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import NamedTuple

from handsfree.errors import HandsfreeError, ProcedureError
from handsfree.procedure.text_file import read_text
from handsfree.toml_source import TomlSource

SHIPPED = Path(__file__).parent / "data"


class Part(NamedTuple):
    """One file with the hash of its bytes."""

    source: TomlSource
    sha256: str

    @property
    def path(self) -> Path:
        """The file, as it was named."""
        return Path(self.source.file)


class Parts(NamedTuple):
    """The files of a procedure: those that are included first, each before its includer."""

    files: tuple[Part, ...]
    faults: tuple[HandsfreeError, ...]

    @property
    def sha256(self) -> str:
        """The hash of all files, wherever they lie; of a single file, its own hash."""
        return joined_hash(part.sha256 for part in self.files)


def joined_hash(hashes: Iterable[str]) -> str:
    """The hash that stands for several; a single one stands for itself."""
    one, *others = hashes
    if not others:
        return one
    return hashlib.sha256("\n".join([one, *others]).encode()).hexdigest()


def read_parts(own: Part, language: str) -> Parts:
    """A procedure's file with everything that it includes, however deep.

    A part is looked for beside the file that includes it, then among those that ship in
    the language. What cannot be included is a fault and left out.
    """
    faults: list[HandsfreeError] = []
    reader = _Reader(language, faults)
    files = tuple(reader.walk(own, (own.path.resolve(),)))
    return Parts(files, tuple(faults))


class _Reader:
    """Walks the includes; remembers who included what, and what is wrong with them."""

    def __init__(self, language: str, faults: list[HandsfreeError]) -> None:
        self._shipped = SHIPPED / language
        self._faults = faults
        self._included: dict[Path, str] = {}

    def walk(self, part: Part, chain: tuple[Path, ...]) -> Iterator[Part]:
        for name in self._names(part.source):
            if (included := self._include(part, name, chain)) is not None:
                yield from self.walk(included, (*chain, included.path.resolve()))
        yield part

    def _names(self, source: TomlSource) -> list[str]:
        names = source.data.get("include", [])
        if isinstance(names, list) and all(isinstance(name, str) for name in names):
            return names
        self._faults.append(
            source.fault("'include' lists no files", key="include", way_out='["parts/one.toml"]')
        )
        return []

    def _include(self, part: Part, name: str, chain: tuple[Path, ...]) -> Part | None:
        line = _line_of(part.source, name)

        def fault(reason: str, way_out: str) -> None:
            self._faults.append(ProcedureError(reason, file=part.path, line=line, way_out=way_out))

        path = self._found(part, name)
        if path is None:
            fault(f"there is no part '{name}'", "a part lies beside the file that includes it")
            return None
        if path.resolve() in chain:
            circle = chain[chain.index(path.resolve()) :]
            named = " includes ".join(file.name for file in (*circle, path))
            fault(f"a circle: {named}", "take one of these out of its file's include")
            return None
        if before := self._included.get(path.resolve()):
            fault(f"'{name}' is included twice, first by {before}", "once is enough")
            return None
        self._included[path.resolve()] = f"{part.path}, line {line}"
        try:
            content, text = read_text(path, ProcedureError, "name a file that can be read")
            included = TomlSource(text, path, ProcedureError)
        except ProcedureError as error:
            self._faults.append(error)
            return None
        return Part(included, hashlib.sha256(content).hexdigest())

    def _found(self, part: Part, name: str) -> Path | None:
        folders = (part.path.parent, self._shipped, self._shipped / "parts")
        candidates = (folder / name for folder in folders)
        return next((path for path in candidates if path.is_file()), None)


def _line_of(source: TomlSource, name: str) -> int:
    """The line of one name in the list of includes."""
    first = source.line(key="include")
    lines = source.text.splitlines()
    return next(
        (at for at, line in enumerate(lines[first - 1 :], first) if f'"{name}"' in line), first
    )
