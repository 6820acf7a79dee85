"""The report of a visit as one HTML page that opens from disk and needs no network.

The local office serves the same page, with linked instead of embedded sound, and with its controls
next to the items that they change.
"""

from __future__ import annotations

import base64
import hashlib
from datetime import UTC, tzinfo
from functools import cache
from typing import Protocol

from jinja2 import (
    Environment,
    PackageLoader,
    StrictUndefined,
    pass_context,
    select_autoescape,
)
from jinja2.runtime import Context
from markupsafe import Markup

from handsfree.journal.office_events import DECISIONS
from handsfree.journal.plain_words import step_words, words_of
from handsfree.language.wording import sentence
from handsfree.reports.embedded_photos import Photos
from handsfree.reports.embedded_sound import Sound
from handsfree.reports.opening_facts import opening_pairs
from handsfree.reports.printed_words import printed_words
from handsfree.reports.report_page import page_of
from handsfree.reports.summary_text import SAFETY_NOTE
from handsfree.reports.template_cache import TemplateCache
from handsfree.reports.timeline import clock, day
from handsfree.reports.titles import (
    controller_title,
    limits_title,
    procedure_title,
    without_folder,
)
from handsfree.reports.visit_fact_rows import VisitFactRow
from handsfree.reports.visit_time import zone_of
from handsfree.visit_record.event_words import SECOND_EAR, with_unit
from handsfree.visit_record.facts import FactStory
from handsfree.visit_record.open_items import OpenItem
from handsfree.visit_record.reading_story import ReadingStory
from handsfree.visit_record.talk_items import Note, Utterance
from handsfree.visit_record.visit_record import VisitRecord


class OfficeControls(Protocol):
    """The controls that an office page adds to the report; '' for none.

    Each method returns markup that is inserted unchanged, so it must escape its texts. ``policy``
    is added to the page's content security policy: "form-action 'self'; media-src 'self'", and so
    on. The anchors to come back to are ``#reading-r1``, ``#line-12`` (utterance or run of event
    12), ``#note-12``, ``#fact-12``, ``#noted-12``, ``#noted``, ``#matter-3`` (its place in
    visit.open_items, from 1) and ``#sign-off``.
    """

    policy: str

    def head(self) -> Markup:
        """The elements for ``<head>``: styles and scripts of the controls, by address."""

    def top(self, visit: VisitRecord) -> Markup:
        """The navigation above the report: back to the list, the person at the desk."""

    def reading(self, item: ReadingStory) -> Markup:
        """The controls of a reading."""

    def utterance(self, item: Utterance) -> Markup:
        """The controls of an utterance on the time line."""

    def note(self, item: Note) -> Markup:
        """The controls of a note."""

    def fact(self, item: FactStory) -> Markup:
        """The controls of a choice or an observation."""

    def visit_fact(self, row: VisitFactRow) -> Markup:
        """The controls of a visit fact."""

    def fill_in(self) -> Markup:
        """The link to fill in a visit fact that nobody stated."""

    def open_item(self, item: OpenItem) -> Markup:
        """The controls of an open item."""

    def sign_off(self, visit: VisitRecord) -> Markup:
        """The controls of the sign-off."""


def report_html(
    visit: VisitRecord,
    sound: Sound,
    office: OfficeControls | None = None,
    photos: Photos | None = None,
) -> str:
    """The complete page, with everything spoken or typed escaped."""
    page = page_of(visit, sound)
    script = _source("report.js")
    return (
        environment()
        .get_template("report.html")
        .render(
            visit=visit,
            page=page,
            office=office,
            photos=photos,
            policy=policy_of("" if office is None else office.policy),
            lang=visit.sheet.language,
            parts_of_opening=opening_pairs(visit.opening),
            decisions=DECISIONS,
            places=_PLACES,
            safety_note=SAFETY_NOTE,
            zone=zone_of(visit).tzname(None),
            titles={
                "limits": limits_title(visit.opened.limits),
                "procedure": procedure_title(visit.opened.procedure),
                "controller": controller_title(visit.opened.controller, visit.sheet.language),
                "ears": without_folder(visit.opened.ears),
            },
            style=Markup(_source("report.css")),
            script=Markup(script),
        )
    )


def policy_of(added: str = "") -> str:
    """The page's content security policy: only its own script, and the parts that an office
    ``added``.
    """
    digest = base64.b64encode(hashlib.sha256(_source("report.js").encode()).digest()).decode()
    policy = (
        "default-src 'none'; img-src data: 'self'; media-src data: 'self'; "
        f"style-src 'unsafe-inline' 'self'; script-src 'sha256-{digest}'"
    )
    if not added:
        return policy + "; base-uri 'none'; form-action 'none'"
    return policy + f" 'self'; base-uri 'none'; {added}"


@cache
def environment() -> Environment:
    """The templates of this package, with autoescape on."""
    made = Environment(
        loader=PackageLoader("handsfree.reports"),
        autoescape=select_autoescape(default=True, default_for_string=True),
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        bytecode_cache=TemplateCache(),
    )
    made.filters |= {"words": words_of, "step": step_words, "sentence": sentence}
    made.filters |= {"clock": _clock, "day": _day, "cssname": _css_name}
    made.globals["said_of_open"] = lambda word: printed_words().text(f"word_{word}")
    made.globals |= {"with_unit": with_unit, "second_ear": SECOND_EAR}
    return made


_PLACES = {
    "as found": "as found, ",
    "as left": "as left, ",
    "as found and as left": "",
    "in between": "in between, ",
}


@pass_context
def _clock(context: Context, at: str) -> str:
    """The time of day in the zone of the page's visit."""
    return clock(at, _zone(context))


@pass_context
def _day(context: Context, at: str) -> str:
    """Day and time in the zone of the page's visit; UTC on a page about several visits."""
    return day(at, _zone(context))


def _zone(context: Context) -> tzinfo:
    visit = context.get("visit")
    return zone_of(visit) if isinstance(visit, VisitRecord) else UTC


def _css_name(text: str) -> str:
    """Text reduced to ASCII letters, safe as a CSS class name."""
    return "".join(letter for letter in text if letter.isascii() and letter.isalpha())


@cache
def _source(name: str) -> str:
    """The source code of a style sheet or script of this package."""
    env = environment()
    assert env.loader is not None
    return env.loader.get_source(env, name)[0]
