"""Reads the word table that a transducer file contains.

Format: OpenFst `fst.h` FstHeader and `symbol-table.cc`, SymbolTable::Read.
"""

from __future__ import annotations

import struct
from pathlib import Path
from typing import BinaryIO

_FST_MAGIC = 2125659606
_TABLE_MAGIC = 2125658996
_HAS_INPUT_SYMBOLS, _HAS_OUTPUT_SYMBOLS = 1, 2


def output_symbols(path: Path) -> tuple[str, ...]:
    """Names of a transducer's outputs; empty if the file has no table.

    Raises OSError, and ValueError if the file is not a transducer or is truncated.
    """
    with path.open("rb") as file:
        try:
            (magic,) = _unpack(file, "<i")
            if magic != _FST_MAGIC:
                raise ValueError("it is not an OpenFst transducer")
            _text(file), _text(file)  # types of the transducer and of its arcs
            _, flags, _, _, _, _ = _unpack(file, "<iiQqqq")
            if flags & _HAS_INPUT_SYMBOLS:
                _table(file)
            return _table(file) if flags & _HAS_OUTPUT_SYMBOLS else ()
        except (struct.error, UnicodeDecodeError) as error:
            raise ValueError("it is truncated or damaged") from error


def _table(file: BinaryIO) -> tuple[str, ...]:
    (magic,) = _unpack(file, "<i")
    if magic != _TABLE_MAGIC:
        raise ValueError("its word table is damaged")
    _text(file)  # the table's name
    _, size = _unpack(file, "<qq")
    names = []
    for _ in range(size):
        names.append(_text(file))
        _unpack(file, "<q")
    return tuple(names)


def _text(file: BinaryIO) -> str:
    (length,) = _unpack(file, "<i")
    if length < 0:
        raise ValueError("it is damaged")
    return file.read(length).decode("utf-8")


def _unpack(file: BinaryIO, form: str) -> tuple[int, ...]:
    return struct.unpack(form, file.read(struct.calcsize(form)))
