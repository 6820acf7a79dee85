"""The templates of the office and of the report in one environment, with autoescape on."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from functools import cache
from importlib.resources import files
from typing import Any

from jinja2 import ChoiceLoader, Environment, PackageLoader
from markupsafe import Markup

from handsfree.journal.office_events import DECISIONS
from handsfree.reports.report_html import environment
from handsfree.reports.summary_text import SAFETY_NOTE

STATIC = {
    "report.css": ("handsfree.reports", "text/css"),
    "office.css": ("handsfree.office", "text/css"),
    "office.js": ("handsfree.office", "text/javascript"),
}
"""Static files that are served unchanged: their package and media type."""


def page(template: str, /, **about: Any) -> str:
    """A whole page."""
    return _templates().get_template(template).render(about)


def fragment(name: str, part: str, about: Mapping[str, Any]) -> Markup:
    """The output of one macro of a template, called with ``about`` as its only argument."""
    module = _templates().get_template(name).module
    return Markup(getattr(module, part)(about))


@cache
def address_of_static(name: str) -> str:
    """The address of a static file, with its hash, so that browsers may cache it forever."""
    found = static(name)
    assert found is not None, name
    return f"/static/{name}?v={hashlib.sha256(found[0]).hexdigest()[:12]}"


def static(name: str) -> tuple[bytes, str] | None:
    """The content and the media type of a static file; None for an unknown name."""
    if name not in STATIC:
        return None
    package, kind = STATIC[name]
    return files(package).joinpath(f"templates/{name}").read_bytes(), kind


@cache
def _templates() -> Environment:
    report = environment()
    made = report.overlay(
        loader=ChoiceLoader([PackageLoader("handsfree.office"), PackageLoader("handsfree.reports")])
    )
    made.globals = report.globals | {
        "decisions": DECISIONS,
        "safety_note": SAFETY_NOTE,
        "static": address_of_static,
    }
    return made
