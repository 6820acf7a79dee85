"""Sets a page with typst and its bundled fonts: the same data give the same bytes.

Texts are passed as data, never as markup. Documents conform to PDF/A-2a (archiving) and PDF/UA-1
(accessibility); the compiler's own modes refuse a page that breaks the rules.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from contextlib import nullcontext
from functools import cache
from importlib.resources import files
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import typst

from handsfree.errors import HandsfreeError

STANDARDS = ("a-2a", "ua-1")
"""The standards that an archived document follows."""
_PICTURE = b'#set page(width: auto, height: auto)\n#image("/picture", width: 10mm)'


def typeset_pdf(
    template: str,
    data: Mapping[str, Any],
    error: type[HandsfreeError],
    *,
    standards: tuple[str, ...] = (),
    picture: bytes = b"",
) -> bytes:
    """Typesets a template of this package as PDF. Raises ``error`` on failure.

    The template finds ``picture`` under the name '/picture'.
    """
    made = _set(_source(template), data, error, "pdf", 144, standards, picture)
    assert isinstance(made, bytes)
    return made


def typeset_png(
    template: str,
    data: Mapping[str, Any],
    error: type[HandsfreeError],
    dots_per_inch: float,
    *,
    page: int = 1,
    picture: bytes = b"",
) -> bytes:
    """A page of a template (from 1) as a picture. Raises ``error`` if it cannot be set."""
    made = _set(_source(template), data, error, "png", dots_per_inch, (), picture)
    return made[page - 1] if isinstance(made, list) else made


def try_picture(picture: bytes) -> None:
    """Tries to typeset a picture alone. Raises HandsfreeError if it cannot be printed."""
    _set(_PICTURE, {}, HandsfreeError, "pdf", 144, (), picture)


def _set(
    source: bytes,
    data: Mapping[str, Any],
    error: type[HandsfreeError],
    form: str,
    dots_per_inch: float,
    standards: tuple[str, ...],
    picture: bytes,
) -> bytes | list[bytes]:
    with TemporaryDirectory() if picture else nullcontext() as folder:
        place: dict[str, Any] = {}
        if folder is not None:  # the compiler accepts a picture only as a file
            (Path(folder) / "picture").write_bytes(picture)
            place["root"] = folder
        try:
            made: bytes | list[bytes] = typst.compile(  # type: ignore[call-overload]
                source,
                format=form,
                ppi=dots_per_inch,
                ignore_system_fonts=True,
                sys_inputs={"data": json.dumps(data)},
                pdf_standards=list(standards),
                **place,
            )
        except RuntimeError as reason:
            first = (str(reason).strip().splitlines() or [""])[0]
            raise error(f"the page cannot be set: {first}") from reason
    return made


@cache
def _source(template: str) -> bytes:
    return files("handsfree.reports").joinpath(f"templates/{template}").read_bytes()
