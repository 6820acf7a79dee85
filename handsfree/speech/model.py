"""The speech model folder: which one is used, and whether it is whole.

A folder holds the acoustic model (``am``), its settings (``conf``), the graph compiled
from the grammar (``graph``) and the pronunciations (``lexicon.txt``). The package ships
one.
"""

from __future__ import annotations

import hashlib
import os
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from handsfree.errors import ModelError
from handsfree.speech.phones import BOUNDARY_TYPES

SHIPPED = Path(__file__).parent / "model"
FOLDER_VARIABLE = "HANDSFREE_MODEL"
SAMPLE_RATE = 16_000

_ACOUSTIC_FILES = ("am/final.mdl", "conf/mfcc.conf", "conf/model.conf")
_GRAPH_FILES = ("graph/HCLG.fst", "graph/words.txt", "graph/phones/word_boundary.int")
_MODEL_HEAD = b"\0B<TransitionModel> <Topology> \x04"  # then the number of phones, 32 bits
_REBUILD = "rebuild its graph: handsfree model build --model {}"
_WHOLE = f"give a whole model folder, or unset {FOLDER_VARIABLE} to use the shipped one"


@dataclass(frozen=True)
class SpeechModel:
    """A checked model folder.

    ``size`` is the bytes of its files, ``sha256`` the hash over their names and
    contents: two models that hear alike have the same.
    """

    folder: Path
    name: str
    size: int
    sha256: str
    words: frozenset[str]

    @classmethod
    def load(cls, folder: Path | str | None = None) -> SpeechModel:
        """Checks a folder: the one given, that of HANDSFREE_MODEL, or the shipped one.

        Raises ModelError naming the first file that is missing, empty or wrong.
        """
        chosen = model_folder(folder)
        check_acoustics(chosen)
        for name in _GRAPH_FILES:
            _require(chosen / name, _REBUILD.format(chosen))
        _check_boundaries(chosen)
        digest = hashlib.sha256()
        size = 0
        for name in (*_ACOUSTIC_FILES, *_GRAPH_FILES):
            content = (chosen / name).read_bytes()
            size += len(content)
            digest.update(f"{name} {len(content)}\n".encode())
            digest.update(content)
        name = "shipped" if chosen == SHIPPED else chosen.name
        return cls(chosen, name, size, digest.hexdigest(), _read_words(chosen))

    def require_words(self, words: Iterable[str]) -> None:
        """Raises ModelError naming the words that the graph does not know."""
        missing = sorted(set(words) - self.words)
        if missing:
            raise ModelError(
                f"the model does not know these words of the grammar: {', '.join(missing)}",
                file=self.folder / "graph" / "words.txt",
                way_out=_REBUILD.format(self.folder),
            )


def model_folder(folder: Path | str | None = None) -> Path:
    """The model folder to use. Raises ModelError when it is no folder."""
    chosen = Path(folder or os.environ.get(FOLDER_VARIABLE) or SHIPPED)
    if not chosen.is_dir():
        raise ModelError("no such speech model folder", file=chosen, way_out=_WHOLE)
    return chosen.resolve()


def check_acoustics(folder: Path) -> None:
    """Raises ModelError when the acoustic model or its settings cannot be used."""
    for name in _ACOUSTIC_FILES:
        _require(folder / name, _WHOLE)
    settings = folder / "conf" / "mfcc.conf"
    expected = f"--sample-frequency={SAMPLE_RATE}"
    if expected not in settings.read_text(encoding="utf-8", errors="replace").split():
        raise ModelError(
            f"the model must hear at {SAMPLE_RATE} Hz: '{expected}' is missing",
            file=settings,
            way_out=_WHOLE,
        )


def _require(path: Path, way_out: str) -> None:
    if not path.is_file():
        raise ModelError("this file of the speech model is missing", file=path, way_out=way_out)
    if path.stat().st_size == 0:
        raise ModelError("this file of the speech model is empty", file=path, way_out=way_out)


def _read_words(folder: Path) -> frozenset[str]:
    table = _read_table(folder, "graph/words.txt", "a word and its number")
    for number, (_, index) in enumerate(table, start=1):
        if not index.isdigit():
            raise _wrong_line(folder, "graph/words.txt", number, "a word and its number")
    return frozenset(word for word, _ in table)


def _check_boundaries(folder: Path) -> None:
    """Vosk ends the whole process over a wrong table here, so it is found before."""
    name, expected = "graph/phones/word_boundary.int", "a phone's number and its place in a word"
    table = _read_table(folder, name, expected)
    for number, (phone, place) in enumerate(table, start=1):
        if phone != str(number) or place not in BOUNDARY_TYPES:
            raise _wrong_line(folder, name, number, expected)
    if len(table) < _phone_count(folder / "am" / "final.mdl"):
        raise _wrong_line(folder, name, len(table) + 1, expected)


def _phone_count(acoustic: Path) -> int:
    """How many phones a binary acoustic model has; 0 for one that is not read here."""
    with acoustic.open("rb") as file:
        head = file.read(len(_MODEL_HEAD) + 4)
    if len(head) < len(_MODEL_HEAD) + 4 or not head.startswith(_MODEL_HEAD):
        return 0
    return int.from_bytes(head[len(_MODEL_HEAD) :], "little")


def _read_table(folder: Path, name: str, expected: str) -> list[tuple[str, str]]:
    rows = []
    text = (folder / name).read_text(encoding="utf-8", errors="replace")
    for number, line in enumerate(text.splitlines(), start=1):
        match line.split():
            case [first, second]:
                rows.append((first, second))
            case _:
                raise _wrong_line(folder, name, number, expected)
    return rows


def _wrong_line(folder: Path, name: str, line: int, expected: str) -> ModelError:
    return ModelError(
        f"expected {expected}", file=folder / name, line=line, way_out=_REBUILD.format(folder)
    )
