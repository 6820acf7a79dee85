"""Checks that the files of a speech model folder exist and are well-formed.

Vosk ends the whole process on some of the faults found here.
"""

from __future__ import annotations

import re
from pathlib import Path

from handsfree.errors import ModelError
from handsfree.recognition.phones import BOUNDARY_TYPES
from handsfree.recognition.symbol_table import output_symbols
from handsfree.sample_rate import SAMPLE_RATE_HZ

ACOUSTIC_FILES = ("am/final.mdl", "conf/mfcc.conf", "conf/model.conf")
STATIC_FILES = ("graph/HCLG.fst", "graph/words.txt", "graph/phones/word_boundary.int")
DYNAMIC_FILES = (
    *("graph/HCLr.fst", "graph/Gr.fst", "graph/disambig_tid.int"),
    "graph/phones/word_boundary.int",
)
USE_ANOTHER = (
    "give a complete model folder, or use the shipped one: unset HANDSFREE_MODEL, "
    "handsfree model use shipped"
)
REBUILD = "rebuild its graph: handsfree model build --model {}"

_MODEL_HEAD = b"\0B<TransitionModel> <Topology> \x04"  # then the number of phones, 32 bits
_OPTION = re.compile(r"--([A-Za-z][\w.-]*)(?:=(\S+))?")


def check_acoustics(folder: Path) -> None:
    """Raises ModelError if the acoustic model or its settings are unusable."""
    for name in ACOUSTIC_FILES:
        require(folder / name, USE_ANOTHER)
    features = _read_options(folder / "conf" / "mfcc.conf")
    rate = features.get("sample-frequency", str(SAMPLE_RATE_HZ))  # Kaldi's own default
    if rate.partition(".")[0] != str(SAMPLE_RATE_HZ):
        raise ModelError(
            f"the model is made for sound at {rate} Hz; handsfree needs {SAMPLE_RATE_HZ} Hz",
            file=folder / "conf" / "mfcc.conf",
            way_out=USE_ANOTHER,
        )
    settings = folder / "conf" / "model.conf"
    if not _read_options(settings).get("endpoint.silence-phones"):
        raise ModelError(
            "the option --endpoint.silence-phones is missing", file=settings, way_out=USE_ANOTHER
        )


def require(path: Path, way_out: str) -> None:
    """Raises ModelError if the file is missing or empty."""
    if not path.is_file():
        raise ModelError("this file of the speech model is missing", file=path, way_out=way_out)
    if path.stat().st_size == 0:
        raise ModelError("this file of the speech model is empty", file=path, way_out=way_out)


def check_last_lines(folder: Path) -> None:
    """Raises ModelError if a text file of a static model ends in the middle of a line.

    These files are written by handsfree. A truncated value ('--beam=1' instead of 13.0) would
    silently count as another value.
    """
    for name in (*ACOUSTIC_FILES[1:], *STATIC_FILES[1:]):
        content = (folder / name).read_bytes()
        if not content.endswith(b"\n"):
            raise ModelError(
                "the last line is cut short",
                file=folder / name,
                line=content.count(b"\n") + 1,
                way_out="if the file is complete, end it with a line break",
            )


def read_words(folder: Path, way_out: str) -> frozenset[str]:
    """Reads the words of a graph, including '[unk]' and other symbols.

    A dynamic graph may carry them in Gr.fst. Raises ModelError naming file and line.
    """
    graph = folder / "graph" / "Gr.fst"
    if graph.is_file():
        try:
            if words := output_symbols(graph):
                return frozenset(words)
        except ValueError as error:
            raise ModelError(f"cannot be used: {error}", file=graph, way_out=way_out) from error
    name, expected = "graph/words.txt", "a word and its number"
    require(folder / name, way_out)
    table = _read_table(folder / name, expected, way_out)
    for number, (_, index) in enumerate(table, start=1):
        if not index.isdigit():
            raise _wrong_line(folder / name, number, expected, way_out)
    return frozenset(word for word, _ in table)


def check_boundaries(folder: Path, way_out: str) -> None:
    """Raises ModelError if the table of word boundaries is malformed or lacks phones."""
    path = folder / "graph" / "phones" / "word_boundary.int"
    expected = "a phone's number and its place in a word"
    table = _read_table(path, expected, way_out)
    for number, (phone, place) in enumerate(table, start=1):
        if phone != str(number) or place not in BOUNDARY_TYPES:
            raise _wrong_line(path, number, expected, way_out)
    if len(table) < _phone_count(folder / "am" / "final.mdl"):
        raise _wrong_line(path, len(table) + 1, expected, way_out)


def check_disambiguation(folder: Path) -> None:
    """Raises ModelError if a line of disambig_tid.int is not a number."""
    path = folder / "graph" / "disambig_tid.int"
    for number, line in enumerate(path.read_bytes().splitlines(), start=1):
        if not line.strip().isdigit():
            raise _wrong_line(path, number, "a number", USE_ANOTHER)


def _read_options(path: Path) -> dict[str, str]:
    """Reads a Kaldi option file: one '--name=value' per line, comments after '#'."""
    options = {}
    text = path.read_text(encoding="utf-8", errors="replace")
    for number, line in enumerate(text.splitlines(), start=1):
        option = line.partition("#")[0].strip()
        if not option:
            continue
        match = _OPTION.fullmatch(option)
        if match is None:
            raise _wrong_line(path, number, "an option as --name=value", USE_ANOTHER)
        options[match[1]] = match[2] or ""
    return options


def _phone_count(acoustic: Path) -> int:
    """Number of phones in a binary acoustic model; 0 if the format is unknown."""
    with acoustic.open("rb") as file:
        head = file.read(len(_MODEL_HEAD) + 4)
    if len(head) < len(_MODEL_HEAD) + 4 or not head.startswith(_MODEL_HEAD):
        return 0
    return int.from_bytes(head[len(_MODEL_HEAD) :], "little")


def _read_table(path: Path, expected: str, way_out: str) -> list[tuple[str, str]]:
    rows = []
    text = path.read_text(encoding="utf-8", errors="replace")
    for number, line in enumerate(text.splitlines(), start=1):
        match line.split():
            case [first, second]:
                rows.append((first, second))
            case _:
                raise _wrong_line(path, number, expected, way_out)
    return rows


def _wrong_line(path: Path, line: int, expected: str, way_out: str) -> ModelError:
    return ModelError(f"expected {expected}", file=path, line=line, way_out=way_out)
