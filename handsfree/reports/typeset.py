"""Sets a page with typst, which brings its fonts along: the same data give the same bytes.

Texts go in as data and never as markup.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from functools import cache
from importlib.resources import files
from typing import Any

import typst

from handsfree.errors import HandsfreeError


def typeset_pdf(template: str, data: Mapping[str, Any], error: type[HandsfreeError]) -> bytes:
    """The pages of a template of this room as PDF. Raises ``error`` if it cannot be set."""
    made = _set(template, data, error, "pdf", 144)
    assert isinstance(made, bytes)
    return made


def typeset_png(
    template: str, data: Mapping[str, Any], error: type[HandsfreeError], dots_per_inch: float
) -> bytes:
    """The first page of a template as a picture. Raises ``error`` if it cannot be set."""
    made = _set(template, data, error, "png", dots_per_inch)
    return made[0] if isinstance(made, list) else made


def _set(
    template: str,
    data: Mapping[str, Any],
    error: type[HandsfreeError],
    form: str,
    dots_per_inch: float,
) -> bytes | list[bytes]:
    try:
        made: bytes | list[bytes] = typst.compile(  # type: ignore[call-overload]
            _source(template),
            format=form,
            ppi=dots_per_inch,
            ignore_system_fonts=True,
            sys_inputs={"data": json.dumps(data)},
        )
    except RuntimeError as reason:
        first = (str(reason).strip().splitlines() or [""])[0]
        raise error(f"the page cannot be set: {first}") from reason
    return made


@cache
def _source(template: str) -> bytes:
    return files("handsfree.reports").joinpath(f"templates/{template}").read_bytes()
