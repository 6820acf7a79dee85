"""The office's pages as HTML. Their only side effect is reading templates."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from contextlib import suppress
from datetime import date
from typing import Any, NamedTuple

from handsfree.errors import HandsfreeError
from handsfree.job.reading import LEAF_SUBJECTS, Subject
from handsfree.job.visit_fact import VISIT_FACTS
from handsfree.journal import events as ev
from handsfree.journal import office_events as office
from handsfree.journal.plain_words import step_words, words_of
from handsfree.language.visit_fact_words import fact_name, shown_value
from handsfree.language.wording import wording
from handsfree.office.changes import Change, words_for
from handsfree.office.form_controls import FormControls
from handsfree.office.new_values import answers_of
from handsfree.office.new_visit_facts import hint_of
from handsfree.office.sign_off_blockers import name_of
from handsfree.office.spoken_words import spoken_words
from handsfree.office.templating import page
from handsfree.office.visit_list import ListPage, ListQuery, Only, Order, Verdict, waited
from handsfree.office.visit_snapshot import VisitSnapshot
from handsfree.procedure.loader import load_procedure
from handsfree.procedure.step import Procedure
from handsfree.reports.embedded_photos import LinkedPhotos
from handsfree.reports.embedded_sound import LinkedSound
from handsfree.reports.report_html import report_html
from handsfree.reports.timeline import clock
from handsfree.reports.visit_time import zone_of
from handsfree.visit_record.event_words import SECOND_EAR, with_unit
from handsfree.visit_record.office_changes import OfficeChange, change_of
from handsfree.visit_record.talk import effect_of
from handsfree.visit_record.visit_record import VisitRecord

VERDICTS: dict[Verdict, str] = {
    "any": "any verdict",
    "fail": "not OK",
    "close": "too close to call",
    "pass": "OK",
    "none": "not judged, not finished",
}
ORDERS: dict[Order, str] = {"waiting": "Longest waiting", "newest": "Newest", "door": "By door"}
FILTERS: dict[Only, str] = {
    "all": "All",
    "not-in-order": "Not OK",
    "not-reviewed": "Not signed off",
    "due": "Due this month",
    "broken": "Broken",
}


class Person(NamedTuple):
    """The person at the desk: their name ('' until given) and the CSRF token of their forms."""

    name: str
    csrf: str


def list_page(
    asked: ListQuery, chosen: ListPage, today: date, unread: int, folder: str, who: Person
) -> str:
    """The list of visits; ``today`` is the day up to which waiting times count."""
    return page(
        "list.html",
        asked=asked,
        chosen=chosen,
        filters=FILTERS,
        verdicts=VERDICTS,
        orders=ORDERS,
        waited={each.id: waited(each.row, today) for each in chosen.rows},
        unread=unread,
        folder=folder,
        name=who.name,
        back=asked.address,
    )


def visit_page(seen: VisitSnapshot, who: Person, *, types_up: bool = False) -> str:
    """The report with the office's controls; ``types_up`` is true if the office has a second
    ear.
    """
    controls = FormControls(seen, csrf=who.csrf, name=who.name, types_up=types_up)
    sound = LinkedSound(seen.folder, f"{seen.here}/clips/")
    photos = LinkedPhotos(seen.folder, f"{seen.here}/pictures/")
    return report_html(seen.visit, sound, controls, photos)


def change_page(
    seen: VisitSnapshot,
    who: Person,
    what: str,
    nth: int,
    *,
    problem: str = "",
    fields: Mapping[str, str] | None = None,
    ask_sure: bool = False,
) -> str | None:
    """The page for correcting one item; None if the item does not exist.

    ``nth`` is a reading's position in the visit from 1, or the journal line of any other item.
    ``fields`` are those of a rejected form, ``problem`` is the reason.
    """
    shown = _shown(seen.visit, what, nth)
    if shown is None:
        return None
    item, title, anchor, clip, lines = shown
    answers: Sequence[str] = ()
    if what == "fact":
        answers = answers_of(item.name, item.value, _procedure(seen.visit))
    if what == "noted" and item is not None:
        answers = VISIT_FACTS[item.name].values
    return page(
        "change.html",
        **about_visit(seen, who, seen.here),
        what=what,
        item=item,
        title=title,
        anchor=anchor,
        lines=lines,
        clip=clip,
        sound=seen.sound(clip),
        answers=answers,
        blank=_blank(seen.visit) if what == "noted" and item is None else (),
        hint=hint_of(VISIT_FACTS[item.name]) if what == "noted" and item is not None else "",
        may_confirm=what == "reading" and item.confirmed_by is None,
        problem=problem,
        fields={"new": "", "why": "", "kind": "", "about": ""} | dict(fields or {}),
        ask_sure=ask_sure,
    )


def again_page(
    seen: VisitSnapshot,
    who: Person,
    change: Change,
    fields: Mapping[str, str],
    later: Sequence[ev.Event] | None,
) -> str:
    """The page that shows others' earlier changes and asks for confirmation."""
    named = {item.id: name_of(item).rpartition(" (")[0] for item in seen.visit.readings}
    acts = None if later is None else [_act(event, named) for event in later]
    return page(
        "again.html",
        **about_visit(seen, who, seen.here),
        later=acts,
        mine=words_for(change, seen.visit),
        fields={"why": ""} | dict(fields),
    )


def about_visit(seen: VisitSnapshot, who: Person, back: str) -> dict[str, Any]:
    """The variables that every template of a page about a visit needs."""
    return {
        "visit": seen.visit,
        "here": seen.here,
        "about": {"csrf": who.csrf, "head": seen.head, "here": seen.here, "name": who.name},
        "name": who.name,
        "back": back,
    }


def _shown(
    visit: VisitRecord, what: str, nth: int
) -> tuple[Any, str, str, str | None, list[str]] | None:
    """The item to correct with its title, its anchor, its clip, and descriptive lines."""
    if what == "reading" and 0 < nth <= len(visit.readings):
        item = visit.readings[nth - 1]
        if item.gone is not None:
            return None
        lines = [f"It stands as {with_unit(item.now.value, item.now.unit)}, {item.place}."]
        if item.heard:
            lines.append(f"Heard: “{item.heard}”")
        if item.accepted.second_ear is not None:
            lines.append(f"Second ear: {SECOND_EAR[item.accepted.second_ear]}.")
        lines += [f"{c.old} was corrected to {c.new} by {c.by}: {c.why}" for c in item.amendments]
        return item, name_of(item).capitalize(), f"reading-{item.id}", item.clip, lines
    if what == "meaning":
        heard = next((u for u in visit.utterances if u.seq == nth), None)
        if heard is None:
            return None
        taken = f"Taken for: {heard.taken_for}" if heard.taken_for else "It was not understood."
        lines = [f"Heard: “{heard.heard}”", taken]
        lines += [f"{c.by} says it was: “{c.new}” ({c.why})" for c in heard.amendments]
        return heard, f"What was said in line {nth}", f"line-{nth}", heard.clip, lines
    if what == "note":
        words = spoken_words(visit, nth)
        if words is None:
            return None
        lines = [f"Heard: “{words.heard}”"]
        if words.typed_up:
            lines.append(f"Typed up by machine, not checked: “{words.typed_up}”")
        return words, words.name.capitalize(), words.anchor, words.clip, lines
    if what == "fact":
        fact = next((f for f in visit.facts if f.seq == nth), None)
        if fact is None:
            return None
        title = f"{fact.subject}, {words_of(fact.name)}".capitalize()
        lines = [f"It stands as: {words_of(fact.value)}."]
        lines += [
            f"{words_of(c.old)} was corrected to {words_of(c.new)} by {c.by}: {c.why}"
            for c in fact.amendments
        ]
        return fact, title, f"fact-{nth}", fact.clip, lines
    if what == "noted":
        return _shown_noted(visit, nth)
    return None


def _shown_noted(
    visit: VisitRecord, nth: int
) -> tuple[Any, str, str, str | None, list[str]] | None:
    """A visit fact in the form of ``_shown``; for line 0 one that nobody stated."""
    if not nth:
        return None, "Add what was left out", "noted", None, []
    story = next((each for each in visit.visit_facts if each.seq == nth), None)
    if story is None or story.name == "photo":
        return None
    w = wording()
    moment = VISIT_FACTS[story.name].takes == "moment"
    now = clock(story.at, zone_of(visit)) if moment else shown_value(w, story.name, story.value)
    lines = [f"It stands as: {now}." if now else "Only its sound is known."]
    if story.typed_up:
        lines.append(f"Typed up by machine, not checked: “{story.typed_up}”")
    title = fact_name(w, story.name, story.subject)
    return story, f"{title[:1].upper()}{title[1:]}", f"noted-{nth}", story.clip, lines


def _blank(visit: VisitRecord) -> list[tuple[str, str]]:
    """The visit facts that can be filled in: leaf and fact, with the name and a hint for the
    value.
    """
    stated = {(each.name, each.subject) for each in visit.visit_facts}
    pair = len(visit.opening.leaves) > 1
    return [
        (f"{subject}/{fact.id}", f"{fact_name(wording(), fact.id, subject)}: {hint_of(fact)}")
        for fact in VISIT_FACTS.values()
        for subject in (LEAF_SUBJECTS if fact.leaf and pair else (Subject.OPENING,))
        if fact.id != "photo" and (fact.many or (fact.id, subject) not in stated)
    ]


def _act(event: ev.Event, named: Mapping[str, str]) -> OfficeChange:
    """One change to the visit, by the office or by the technician."""
    body = event.body
    if isinstance(body, office.OfficeBody):
        return change_of(event, body, named)
    judged = isinstance(body, ev.Judged)
    what = "it was judged again" if judged else effect_of(body) or step_words(body.kind)
    return OfficeChange(seq=event.seq, at=event.at, by="", kind=body.kind, what=what)


def _procedure(visit: VisitRecord) -> Procedure | None:
    """The procedure of the visit; None if it cannot be loaded here."""
    with suppress(HandsfreeError):
        return load_procedure(visit.opened.procedure, language=visit.sheet.language)
    return None
