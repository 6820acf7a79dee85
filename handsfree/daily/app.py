"""The page of the daily walk as a web application: its routes and handlers."""

from __future__ import annotations

import json
from contextlib import asynccontextmanager
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined
from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.requests import Request
from starlette.responses import HTMLResponse, PlainTextResponse, RedirectResponse, Response
from starlette.routing import Route

from handsfree.daily.walk import LONGEST, DailyWalk
from handsfree.errors import HandsfreeError, OfficeError
from handsfree.office.access_guard import Guard, give_token, same
from handsfree.office.app import OfficeSetup
from handsfree.office.form_parser import csrf_of, is_ours, name_of_person, new_session, read_form

_SESSION = "handsfree-daily"


class DailyPage:
    """The web application for the daily walk of one door.

    All of it runs in the server's thread, one request at a time.
    """

    def __init__(self, walk: DailyWalk, house: OfficeSetup) -> None:
        self._walk, self._house = walk, house

    def app(self) -> Starlette:
        """The ASGI application; the walk's journal is released when it stops."""

        @asynccontextmanager
        async def alive(_: Starlette) -> Any:
            yield
            self._walk.close()

        house = self._house
        guard = Middleware(
            Guard, names=house.names, any_address=house.any_address, token=house.token,
            called="The daily walk",
        )  # fmt: skip
        return Starlette(
            routes=[
                Route("/", self.page),
                Route("/begin", self.begin, methods=["POST"]),
                Route("/answer", self.answer, methods=["POST"]),
                Route("/token", self.token, methods=["GET", "POST"]),
                Route("/static/daily.css", _style),
                Route("/favicon.ico", _nothing),
            ],
            middleware=[guard],
            lifespan=alive,
            exception_handlers={HTTPException: _no_page, HandsfreeError: _trouble},
        )

    async def page(self, request: Request) -> Response:
        """Shows the current question, the result of the walk that ended, or the start page."""
        words = self._words()
        problem = words["stale"] if "late" in request.query_params else ""
        return self._shown(request, problem)

    async def begin(self, request: Request) -> Response:
        """Begins a walk by the named person, or continues the one that is open."""
        fields = await self._fields(request)
        if not self._walk.open:
            try:
                name = name_of_person(fields.get("name", ""))
            except OfficeError:
                return self._shown(request, self._words()["no_name"], 422)
            self._walk.begin(name)
        return RedirectResponse("/", 303)

    async def answer(self, request: Request) -> Response:
        """Takes the answer to a question, only once."""
        fields = await self._fields(request)
        turn = fields.get("turn", "")
        number = int(turn) if turn.isdecimal() and len(turn) < 10 else -1
        say, note = fields.get("say", ""), fields.get("note", "")
        taken = self._walk.answer(number, say, note, promised="promise" in fields)
        return RedirectResponse("/" if taken else "/?late", 303)

    async def token(self, request: Request) -> Response:
        """Accepts the access token from the address shown in the terminal."""
        if self._house.token is None:
            return RedirectResponse("/", 303)
        if request.method == "POST":
            sent = (await read_form(request)).get("token", "").strip()
            if same(sent, self._house.token):
                response = RedirectResponse("/", 303)
                give_token(response, sent)
                return response
        return self._html(request, "token.html", 401, problem="", door="", site="")

    def _shown(self, request: Request, problem: str, status: int = 200) -> Response:
        if self._walk.open:
            return self._html(request, "step.html", status, problem=problem, **self._step())
        summary = self._walk.summary()
        if summary is None:
            return self._html(request, "start.html", status, problem=problem, name="")
        w = self._walk.words
        facts = [fact for fact in summary.facts if fact.value == "not_in_order"]
        wrong = [f"{w.subject(fact.subject)}: {self._walk.called(fact.name)}" for fact in facts]
        checked = sum(fact.value == "in_order" for fact in summary.facts)
        return self._html(
            request,
            "ended.html",
            status,
            problem=problem,
            ended=True,
            name=summary.technician,
            summary=summary,
            wrong=wrong,
            checked=self._words()["checked"].format(count=checked),
        )

    def _step(self) -> dict[str, Any]:
        screen, words = self._walk.screen(), self._words()
        question = _without_end(screen.question, words["prompt_end"])
        if screen.controls.free and question.startswith(words["prompt_end"]):
            question = words["write"] + question.removeprefix(words["prompt_end"])
        place = words["step"] if screen.brief or screen.step else words["before"]
        return {
            "screen": screen,
            "heading": screen.brief or question,
            "detail": question if screen.brief and question != screen.brief else "",
            "place": place.format(step=screen.step, steps=screen.steps),
            "longest": LONGEST,
        }

    def _words(self) -> dict[str, str]:
        return page_words()[self._walk.sheet.language]

    def _html(self, request: Request, template: str, status: int, **about: Any) -> Response:
        session = request.cookies.get(_SESSION, "")
        known = 20 <= len(session) <= 64
        session = session if known else new_session()
        opening = self._walk.sheet.opening
        about = {
            "words": self._words(),
            "language": self._walk.sheet.language,
            "door": opening.name,
            "site": self._walk.sheet.site,
            "csrf": csrf_of(self._house.key, session),
        } | about
        content = _templates().get_template(template).render(about)
        response = HTMLResponse(content.encode("utf-8", "replace"), status)
        if not known:
            response.set_cookie(_SESSION, session, httponly=True, samesite="lax")
        return response

    async def _fields(self, request: Request) -> dict[str, str]:
        """The fields of a form that was served to this browser."""
        fields = await read_form(request)
        if not is_ours(self._house.key, request.cookies.get(_SESSION, ""), fields):
            raise HTTPException(403)
        return fields


@cache
def page_words() -> dict[str, dict[str, str]]:
    """The labels of the page, by language."""
    text = files("handsfree.daily").joinpath("words.json").read_text(encoding="utf-8")
    words: dict[str, dict[str, str]] = json.loads(text)
    return words


@cache
def _templates() -> Environment:
    return Environment(
        loader=PackageLoader("handsfree.daily"),
        autoescape=True,
        trim_blocks=True,
        lstrip_blocks=True,
        undefined=StrictUndefined,
    )


def _without_end(prompt: str, begins: str) -> str:
    """A spoken prompt without its last sentence if that lists the answers, which the buttons
    show.
    """
    kept, _, last = prompt.rpartition(". ")
    if not kept or not last.startswith(begins):
        kept, _, last = prompt.rpartition("? ")
        return f"{kept}?" if kept and last.startswith(begins) else prompt
    return f"{kept}."


def _style(_: Request) -> Response:
    style = files("handsfree.daily").joinpath("templates/daily.css").read_bytes()
    return Response(style, media_type="text/css")


def _nothing(_: Request) -> Response:
    return Response(status_code=204)


def _no_page(_: Request, error: Exception) -> Response:
    status = error.status_code if isinstance(error, HTTPException) else 500
    told = "Load the page again." if status == 403 else "There is no such page."
    return PlainTextResponse(f"{told}\n", status)


def _trouble(_: Request, error: Exception) -> Response:
    """A page with one plain reason and no path of this machine."""
    message = error.message if isinstance(error, HandsfreeError) else ""
    return PlainTextResponse(f"That cannot be done: {message}.\n", 422)


def new_folder(root: Path, stem: str, now: str) -> Path:
    """A folder below ``root`` that does not exist yet, named after the door and the time."""
    for nth in range(1, 100):
        folder = root / (f"{stem}-daily-{now}" + ("" if nth == 1 else f"-{nth}"))
        if not folder.exists():
            return folder
    raise OfficeError("too many walks were started in this minute", file=root)
