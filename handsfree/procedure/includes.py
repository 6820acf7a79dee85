"""A procedure's own file and its included parts, in the order of their steps."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import NamedTuple

from handsfree.errors import HandsfreeError, ProcedureError
from handsfree.procedure.text_file import read_text
from handsfree.toml_source import TomlSource

SHIPPED = Path(__file__).parent / "data"


class ProcedureFile(NamedTuple):
    """One file with the hash of its bytes."""

    source: TomlSource
    sha256: str

    @property
    def path(self) -> Path:
        """Path of the file as it was named."""
        return Path(self.source.file)


class ProcedureFiles(NamedTuple):
    """The files of a procedure, included files before the file that includes them."""

    files: tuple[ProcedureFile, ...]
    faults: tuple[HandsfreeError, ...]

    @property
    def sha256(self) -> str:
        """Hash of all files, wherever they are; for a single file, its own hash."""
        return joined_hash(part.sha256 for part in self.files)


def joined_hash(hashes: Iterable[str]) -> str:
    """Combines several hashes; a single one stays itself."""
    one, *others = hashes
    if not others:
        return one
    return hashlib.sha256("\n".join([one, *others]).encode()).hexdigest()


def read_parts(own: ProcedureFile, language: str) -> ProcedureFiles:
    """Reads a procedure's file with everything that it includes, at any depth.

    A part is looked up next to the file that includes it, then among the shipped parts of the
    language. A missing part is left out and reported as a fault.
    """
    faults: list[HandsfreeError] = []
    reader = _Reader(language, faults)
    files = tuple(reader.walk(own, (own.path.resolve(),)))
    return ProcedureFiles(files, tuple(faults))


class _Reader:
    """Follows the includes; remembers which file included which, and the faults."""

    def __init__(self, language: str, faults: list[HandsfreeError]) -> None:
        self._shipped = SHIPPED / language
        self._faults = faults
        self._included: dict[Path, str] = {}

    def walk(self, part: ProcedureFile, chain: tuple[Path, ...]) -> Iterator[ProcedureFile]:
        for name in self._names(part.source):
            if (included := self._include(part, name, chain)) is not None:
                yield from self.walk(included, (*chain, included.path.resolve()))
        yield part

    def _names(self, source: TomlSource) -> list[str]:
        names = source.data.get("include", [])
        if isinstance(names, list) and all(isinstance(name, str) for name in names):
            return names
        self._faults.append(
            source.fault(
                "'include' is not a list of files", key="include", way_out='["parts/one.toml"]'
            )
        )
        return []

    def _include(
        self, part: ProcedureFile, name: str, chain: tuple[Path, ...]
    ) -> ProcedureFile | None:
        line = _line_of(part.source, name)

        def fault(reason: str, way_out: str) -> None:
            self._faults.append(ProcedureError(reason, file=part.path, line=line, way_out=way_out))

        path = self._found(part, name)
        if path is None:
            fault(f"there is no part '{name}'", "put the part next to the file that includes it")
            return None
        if path.resolve() in chain:
            circle = chain[chain.index(path.resolve()) :]
            named = " includes ".join(file.name for file in (*circle, path))
            fault(f"circular include: {named}", "remove one of them from its file's include")
            return None
        if before := self._included.get(path.resolve()):
            fault(f"'{name}' is included twice, first by {before}", "remove one of the two")
            return None
        self._included[path.resolve()] = f"{part.path}, line {line}"
        try:
            content, text = read_text(path, ProcedureError, "name a file that can be read")
            included = TomlSource(text, path, ProcedureError)
        except ProcedureError as error:
            self._faults.append(error)
            return None
        return ProcedureFile(included, hashlib.sha256(content).hexdigest())

    def _found(self, part: ProcedureFile, name: str) -> Path | None:
        folders = (part.path.parent, self._shipped, self._shipped / "parts")
        candidates = (folder / name for folder in folders)
        return next((path for path in candidates if path.is_file()), None)


def _line_of(source: TomlSource, name: str) -> int:
    """Line of a name in the list of includes."""
    first = source.line(key="include")
    lines = source.text.splitlines()
    return next(
        (at for at, line in enumerate(lines[first - 1 :], first) if f'"{name}"' in line), first
    )
