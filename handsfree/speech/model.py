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

SHIPPED = Path(__file__).parent / "model"
FOLDER_VARIABLE = "HANDSFREE_MODEL"
SAMPLE_RATE = 16_000

_ACOUSTIC_FILES = ("am/final.mdl", "conf/mfcc.conf", "conf/model.conf")
_GRAPH_FILES = ("graph/HCLG.fst", "graph/words.txt", "graph/phones/word_boundary.int")
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
    path = folder / "graph" / "words.txt"
    lines = path.read_text(encoding="utf-8", errors="replace").splitlines()
    words = set()
    for number, line in enumerate(lines, start=1):
        match line.split():
            case [word, index] if index.isdigit():
                words.add(word)
            case _:
                raise ModelError(
                    "expected a word and its number",
                    file=path,
                    line=number,
                    way_out=_REBUILD.format(folder),
                )
    return frozenset(words)
