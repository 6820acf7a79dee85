"""The set-up of a controller for one door as a printable page, made from its guide and the job."""

from __future__ import annotations

from typing import Any

from handsfree.controllers.door_kinds import because, holds
from handsfree.controllers.guide import Guide
from handsfree.controllers.printed_words import printed_words
from handsfree.controllers.worked_out import WorkedOut, set_up_of
from handsfree.errors import ControllerError
from handsfree.job.job import Job
from handsfree.language.wording import Wording, sentence, wording
from handsfree.reports.typeset import typeset_pdf, typeset_png

_TEMPLATE = "set_up_sheet.typ"


def sheet_data(guide: Guide, job: Job) -> dict[str, Any]:
    """The texts of the sheet in the language of the guide."""
    w, words = wording(guide.language), printed_words(guide.language)
    opening = job.opening
    door = [w.name("condition", opening.swing)]
    for condition in ("strike" if holds("strike", job) else "lock", "sensors", "fire_rated"):
        door.append(because(_as_is(condition, job), w).rstrip("."))
    for motor in opening.motors:
        if motor.hand is not None:
            named = w.subject(f"motor {'one' if motor.number == 1 else 'two'}")
            door.append(w.say("because_hand", motor=named, side=w.name("word", motor.hand)))
    learn = guide.learn
    seconds = w.say("guide_seconds", count=learn.takes_s)
    return {
        "language": guide.language,
        "title": guide.title,
        "reference": job.sheet.reference,
        "site": job.sheet.site,
        "opening": opening.name,
        "door": [sentence(each).rstrip(".") for each in door],
        "rows": [_row(each, w) for each in set_up_of(guide, job)],
        "learn": [
            *learn.before,
            f"{learn.start} {learn.seen} ({seconds})",
            learn.success.say,
            learn.failure.say,
            *learn.after,
        ],
        "codes": [[code.mark or "", f"{code.means} {code.remedy}"] for code in guide.codes],
        "settings": [[s.called, s.name, f"{s.low}-{s.high} ({s.default})"] for s in guide.settings],
        "heads": ["", *(words[name] for name in _COLUMNS)],
        **{name.removeprefix("sheet_"): words[name] for name in _HEADS},
    }


_COLUMNS = ("sheet_where", "sheet_what", "sheet_value", "sheet_shows", "sheet_why")
_HEADS = (
    *("sheet_sheet", "sheet_door_head", "sheet_set_up_head", "sheet_learn_head"),
    *("sheet_codes_head", "sheet_settings_head", "sheet_foot"),
)


def set_up_pdf(guide: Guide, job: Job) -> bytes:
    """The sheet as PDF: the same bytes for the same guide and door."""
    return typeset_pdf(_TEMPLATE, sheet_data(guide, job), ControllerError)


def set_up_png(guide: Guide, job: Job, dots_per_inch: float) -> bytes:
    """The first page of the sheet as a picture."""
    return typeset_png(_TEMPLATE, sheet_data(guide, job), ControllerError, dots_per_inch)


def _as_is(condition: str, job: Job) -> str:
    return condition if holds(condition, job) else f"not {condition}"


def _row(each: WorkedOut, w: Wording) -> dict[str, Any]:
    words = printed_words(w.language)
    value, is_open = "", each.state in ("unknown", "missing")
    if each.value is not None:
        value = each.value.say
    elif is_open:
        value = words["sheet_unknown" if each.state == "unknown" else "sheet_missing"]
    reasons = [because(condition, w) for condition in (each.value.when if each.value else ())]
    if each.asks is not None:
        reasons = [words["sheet_asks"].format(what=because(each.asks, w).rstrip("."))]
    return {
        "called": each.step.called or "",
        "name": each.step.name if each.state != "action" else each.step.say or each.step.name,
        "value": value,
        "shown": each.seen.mark or "",
        "because": " ".join(reasons),
        "open": is_open,
    }
