"""Reads the text of a data file, with one clear line when it cannot."""

from __future__ import annotations

from pathlib import Path

from handsfree.errors import HandsfreeError
from handsfree.toml_source import file_bytes


def read_text(path: Path, error: type[HandsfreeError], way_out: str) -> tuple[bytes, str]:
    """A file's bytes and its text.

    Raises ``error`` when there is no such file or it is no UTF-8; ``way_out`` tells what
    can be named instead.
    """
    try:
        content = file_bytes(path)
        return content, content.decode("utf-8").removeprefix("\ufeff")
    except UnicodeDecodeError as fault:
        line = fault.object[: fault.start].count(b"\n") + 1
        raise error(
            "is no UTF-8 text", file=path, line=line, way_out="save the file as UTF-8"
        ) from fault
    except OSError as fault:
        raise error(
            f"nothing can be read here: {fault.strerror}", file=path, way_out=way_out
        ) from fault
