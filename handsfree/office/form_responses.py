"""Responds to a form: makes the change, asks for confirmation, or refuses."""

from __future__ import annotations

import re
import secrets
from collections.abc import Mapping
from pathlib import Path
from urllib.parse import quote

from starlette.responses import HTMLResponse, JSONResponse, RedirectResponse, Response

from handsfree.clock import Clock
from handsfree.errors import JournalBusy, OfficeError
from handsfree.office.apply_change import PATIENCE_S, Written, make_change, set_tail_aside
from handsfree.office.changes import change_of, words_for
from handsfree.office.error_pages import sentence_of
from handsfree.office.form_parser import name_of_person
from handsfree.office.new_values import ImplausibleValue
from handsfree.office.pages import Person, again_page, change_page
from handsfree.office.templating import page
from handsfree.office.visit_index import Index
from handsfree.office.visit_snapshot import VisitSnapshot, read_snapshot
from handsfree.visit_record.visit_record import VisitRecord

_ANCHOR = re.compile(r"[a-z]+-?[A-Za-z0-9-]{0,40}")
_YEAR_S = 365 * 24 * 3600
_OF_READING = ("confirm", "amend", "strike")


class FormResponses:
    """Makes the changes that forms ask for."""

    def __init__(self, index: Index, clock: Clock) -> None:
        self._index = index
        self._clock = clock

    def change(
        self, folder: Path, here: str, who: Person, fields: dict[str, str], *, plain: bool
    ) -> Response:
        """The response to a form; ``plain`` is false for a script, which gets JSON."""
        try:
            name = name_of_person(fields.get("by") or who.name)
        except OfficeError as error:
            return _ask_name(here, who, fields, str(error), plain=plain)
        who = who._replace(name=name)
        try:
            change = change_of(fields | {"seed": secrets.token_hex(16)})
            head = fields.get("head", "")
            done = make_change(folder, change, name, head, self._clock, PATIENCE_S)
        except JournalBusy as error:
            return self._busy(folder, here, who, fields, error, plain=plain)
        except OfficeError as error:
            return self._refused(folder, here, who, fields, error, plain=plain)
        if isinstance(done, Written):
            self._index.fresh((here.rpartition("/")[2],))
            if not plain:
                return _kept(JSONResponse({"head": done.head}), name)
            return _kept(RedirectResponse(_back(here, fields), 303), name)
        if not plain:
            return JSONResponse({"problem": "somebody was there first"}, 409)
        seen = VisitSnapshot(folder, here, done.visit, done.head, writable=True)
        return _kept(_html(again_page(seen, who, change, fields, done.later), 409), name)

    def set_aside(self, folder: Path, here: str) -> None:
        """Sets an unfinished last line aside. Raises JournalError if anything else is wrong."""
        set_tail_aside(folder, self._clock)
        self._index.fresh((here.rpartition("/")[2],))

    def _busy(
        self,
        folder: Path,
        here: str,
        who: Person,
        fields: Mapping[str, str],
        error: JournalBusy,
        *,
        plain: bool,
    ) -> Response:
        told = sentence_of(error)
        if not plain:
            return JSONResponse({"problem": told}, 423)
        made = page(
            "problem.html",
            title="The visit is being written",
            problem=told,
            fields={"why": ""} | dict(fields),
            action=f"{here}/change",
            csrf=who.csrf,
            mine=words_for(change_of(fields), read_snapshot(folder, here).visit),
            to=here,
            to_words="Leave it, and go back to the visit",
        )
        return _kept(_html(made, 423), who.name)

    def _refused(
        self,
        folder: Path,
        here: str,
        who: Person,
        fields: Mapping[str, str],
        error: OfficeError,
        *,
        plain: bool,
    ) -> Response:
        told = sentence_of(error)
        if not plain:
            return JSONResponse({"problem": told}, 422)
        seen = read_snapshot(folder, here)
        at = _place(seen.visit, fields)
        made = None
        if at is not None:
            sure = isinstance(error, ImplausibleValue)
            made = change_page(seen, who, at[0], at[1], problem=told, fields=fields, ask_sure=sure)
        if made is None:
            made = page(
                "problem.html",
                title="That cannot be done",
                problem=told,
                fields={},
                to=_back(here, fields),
                to_words="Back to the visit",
            )
        return _kept(_html(made, 422), who.name)


def _ask_name(
    here: str, who: Person, fields: Mapping[str, str], problem: str, *, plain: bool
) -> Response:
    if not plain:
        return JSONResponse({"problem": "Say who you are first.", "ask": "name"}, 422)
    carried = {key: value for key, value in fields.items() if key not in ("csrf", "by")}
    made = page(
        "name.html",
        action=f"{here}/change",
        given=fields.get("by", ""),
        csrf=who.csrf,
        carried=carried,
        problem=problem if "by" in fields else "",
    )
    return _html(made, 422 if "by" in fields else 200)


def _place(visit: VisitRecord, fields: Mapping[str, str]) -> tuple[str, int] | None:
    """The correction page of a change: the kind of item and its number in the address."""
    kind = fields.get("kind", "")
    if kind in _OF_READING:
        ids = [item.id for item in visit.readings]
        name = fields.get("reading_id", "")
        return ("reading", ids.index(name) + 1) if name in ids else None
    if kind == "fact":
        about = (fields.get("subject"), fields.get("name"))
        return next((("fact", f.seq) for f in visit.facts if (f.subject, f.name) == about), None)
    seq = fields.get("seq", "")
    if kind in ("noted", "strike_noted"):
        return "noted", int(seq) if seq.isdecimal() and len(seq) < 10 else 0
    if kind in ("meaning", "note") and seq.isdecimal() and len(seq) < 10:
        return kind, int(seq)
    return None


def _back(here: str, fields: Mapping[str, str]) -> str:
    """The address to go to after a change: the changed item, or the next reading."""
    if fields.get("from") == "listen":
        return f"{here}/listen"
    anchor = fields.get("at", "")
    return f"{here}#{quote(anchor)}" if _ANCHOR.fullmatch(anchor) else here


def _kept(response: Response, name: str) -> Response:
    keep_name(response, name)
    return response


def _html(content: str, status: int) -> HTMLResponse:
    return HTMLResponse(content.encode("utf-8", "replace"), status)


def keep_name(response: Response, name: str) -> None:
    """Stores the name of the person at the desk in a cookie."""
    response.set_cookie(
        "handsfree-name", quote(name), max_age=_YEAR_S, httponly=True, samesite="lax"
    )
