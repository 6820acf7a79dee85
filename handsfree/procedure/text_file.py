"""Reads the text of a data file, with a clear error if it cannot."""

from __future__ import annotations

from pathlib import Path

from handsfree.errors import HandsfreeError
from handsfree.toml_source import file_bytes


def read_text(path: Path, error: type[HandsfreeError], way_out: str) -> tuple[bytes, str]:
    """Returns a file's bytes and text.

    Raises ``error`` if there is no such file or it is not UTF-8; ``way_out`` names the
    alternatives.
    """
    try:
        content = file_bytes(path)
        return content, content.decode("utf-8").removeprefix("\ufeff")
    except UnicodeDecodeError as fault:
        line = fault.object[: fault.start].count(b"\n") + 1
        raise error(
            "is not UTF-8 text", file=path, line=line, way_out="save the file as UTF-8"
        ) from fault
    except OSError as fault:
        raise error(
            f"cannot read this file: {fault.strerror}", file=path, way_out=way_out
        ) from fault
