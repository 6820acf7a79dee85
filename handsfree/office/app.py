"""The office as a web application: its routes and handlers."""

from __future__ import annotations

from contextlib import asynccontextmanager
from pathlib import Path
from typing import Any, NamedTuple
from urllib.parse import unquote

from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.requests import Request
from starlette.responses import (
    FileResponse,
    HTMLResponse,
    JSONResponse,
    RedirectResponse,
    Response,
)
from starlette.routing import Route

from handsfree.clock import Clock, SystemClock
from handsfree.errors import HandsfreeError, JournalError, OfficeError
from handsfree.office.access_guard import Guard, give_token, same
from handsfree.office.error_pages import TITLES, TOLD, inside, sentence_of, trouble_page
from handsfree.office.form_controls import POLICY as CONTROLS_POLICY
from handsfree.office.form_parser import (
    TooLarge,
    csrf_of,
    is_ours,
    name_of_person,
    new_session,
    read_form,
)
from handsfree.office.form_responses import FormResponses, keep_name
from handsfree.office.listening_page import listen_page
from handsfree.office.pages import Person, change_page, list_page, visit_page
from handsfree.office.templating import page, static
from handsfree.office.transcriber import Opener, Transcriber
from handsfree.office.visit_index import Index
from handsfree.office.visit_list import choose, list_query
from handsfree.office.visit_snapshot import VisitSnapshot, clip_file, photo_file, read_snapshot
from handsfree.reports.export import export_json
from handsfree.reports.letterhead import own_letterhead
from handsfree.reports.record_pdf import record_pdf
from handsfree.reports.report_html import policy_of


class OfficeSetup(NamedTuple):
    """Setup of an office: host names, access token, signing key, row cache, and a second ear."""

    names: tuple[str, ...] = ("localhost", "127.0.0.1", "::1")
    any_address: bool = False
    token: str | None = None
    key: bytes = b""
    kept: Path | None = None
    ear: Opener | None = None


class Office:
    """The web application for one folder of visits."""

    def __init__(self, root: Path, house: OfficeSetup, clock: Clock | None = None) -> None:
        self.root = root
        self.house = house
        self.clock = clock or SystemClock()
        self.index = Index(root, house.kept)
        self._transcriber = Transcriber(house.ear)
        self._answers = FormResponses(self.index, self.clock)
        self._session = f"handsfree-{csrf_of(b'office', str(root.resolve()))[:8]}"

    def app(self) -> Starlette:
        """The ASGI application; the visit index starts and stops with it."""

        @asynccontextmanager
        async def alive(_: Starlette) -> Any:
            self.index.start()
            yield
            await run_in_threadpool(self.index.close)
            await run_in_threadpool(self._transcriber.close)

        guard = Middleware(
            Guard,
            names=self.house.names,
            any_address=self.house.any_address,
            token=self.house.token,
        )
        visit = "/visit/{id}"
        return Starlette(
            routes=[
                Route("/", self.list),
                Route("/name", self.name, methods=["GET", "POST"]),
                Route("/token", self.token, methods=["GET", "POST"]),
                Route("/static/{name}", self.static),
                Route("/favicon.ico", lambda _: Response(status_code=204)),
                Route(visit, self.visit),
                Route(f"{visit}/listen", self.listen),
                Route(f"{visit}/change", self.change, methods=["POST"]),
                Route(f"{visit}/set-aside", self.set_aside, methods=["POST"]),
                Route(f"{visit}/change/{{what}}/{{nth:int}}", self.change_form),
                Route(f"{visit}/clips/{{clip}}", self.clip),
                Route(f"{visit}/pictures/{{photo}}", self.photo),
                Route(f"{visit}/typed-up/{{seq:int}}", self.typed_up),
                Route(f"{visit}/record.pdf", self.record),
                Route(f"{visit}/export.json", self.export),
            ],
            middleware=[guard],
            lifespan=alive,
            exception_handlers={
                HTTPException: self._no_page,
                HandsfreeError: self._problem,
                Exception: self._fault,
            },
        )

    def list(self, request: Request) -> Response:
        """The list of visits."""
        asked, today = list_query(request.query_params), self.clock.utc().date()
        chosen = choose(self.index.rows(), asked, today)
        if self.index.fresh_page(chosen.rows):
            chosen = choose(self.index.rows(), asked, today)
        who = self._who(request)
        folder = self.root.resolve().name
        return self._html(
            request, list_page(asked, chosen, today, self.index.unread(), folder, who)
        )

    def visit(self, request: Request) -> Response:
        """The report of a visit with the office's controls."""
        seen = self._seen(request)
        broken = seen.visit.verification.broken
        if broken is not None:
            problem = f"line {broken.line}: {broken.what}"
            self.index.found_broken(request.path_params["id"], problem)
        made = visit_page(seen, self._who(request), types_up=self._transcriber.there)
        response = self._html(request, made)
        policy = policy_of(f"{CONTROLS_POLICY}; frame-ancestors 'none'")
        response.headers["content-security-policy"] = policy
        return response

    def listen(self, request: Request) -> Response:
        """The page for listening to unconfirmed readings."""
        return self._html(request, listen_page(self._seen(request), self._who(request)))

    def change_form(self, request: Request) -> Response:
        """The page for correcting one item."""
        seen, given = self._seen(request), request.path_params
        if not seen.writable:
            return RedirectResponse(seen.here, 303)
        made = change_page(seen, self._who(request), given["what"], given["nth"])
        if made is None:
            raise HTTPException(404)
        return self._html(request, made)

    async def change(self, request: Request) -> Response:
        """Makes a change, or says why it is impossible."""
        folder, here = self._folder(request), self._here(request)
        who, fields = await self._fields(request)
        return await run_in_threadpool(
            self._answers.change,
            folder,
            here,
            who,
            fields,
            plain="application/json" not in request.headers.get("accept", ""),
        )

    async def set_aside(self, request: Request) -> Response:
        """Sets an unfinished last line aside."""
        folder, here = self._folder(request), self._here(request)
        await self._fields(request)
        await run_in_threadpool(self._answers.set_aside, folder, here)
        return RedirectResponse(here, 303)

    def clip(self, request: Request) -> Response:
        """The sound of an utterance, a run or a note, with byte ranges."""
        file = clip_file(self._folder(request), request.path_params["clip"])
        if file is None:
            raise HTTPException(404)
        return FileResponse(file, media_type="audio/flac", headers={"cache-control": "private"})

    def photo(self, request: Request) -> Response:
        """A photo of the visit."""
        file = photo_file(self._folder(request), request.path_params["photo"])
        if file is None:
            raise HTTPException(404)
        return FileResponse(file, media_type="image/jpeg", headers={"cache-control": "private"})

    def typed_up(self, request: Request) -> Response:
        """The second ear's transcript of a note or a reason, which is not stored."""
        text = self._transcriber.text(self._seen(request), request.path_params["seq"])
        return JSONResponse({"text": text})

    def record(self, request: Request) -> Response:
        """The owner's record."""
        content = record_pdf(self._seen(request).visit, own_letterhead())
        headers = {"content-disposition": 'inline; filename="record.pdf"'}
        return Response(content, media_type="application/pdf", headers=headers)

    def export(self, request: Request) -> Response:
        """The visit as JSON."""
        content = export_json(self._seen(request).visit)
        headers = {"content-disposition": 'attachment; filename="visit.json"'}
        return Response(content, media_type="application/json", headers=headers)

    def static(self, request: Request) -> Response:
        """A style sheet or script."""
        found = static(request.path_params["name"])
        if found is None:
            raise HTTPException(404)
        headers = {"cache-control": "public, max-age=31536000, immutable"}
        return Response(found[0], media_type=found[1], headers=headers)

    async def name(self, request: Request) -> Response:
        """Asks for the name of the person at the desk and stores it in a cookie."""
        who = self._who(request)
        back = inside(request.query_params.get("back", "/"))
        problem = ""
        if request.method == "POST":
            who, fields = await self._fields(request)
            back = inside(fields.get("back", "/"))
            try:
                name = name_of_person(fields.get("by", ""))
            except OfficeError as error:
                problem = str(error)
            else:
                response = RedirectResponse(back, 303)
                keep_name(response, name)
                return response
        made = page(
            "name.html",
            action="/name",
            given=who.name,
            csrf=who.csrf,
            carried={"back": back},
            problem=problem,
        )
        return self._html(request, made, 422 if problem else 200)

    async def token(self, request: Request) -> Response:
        """Asks for the access token, if the office has one."""
        if self.house.token is None:
            return RedirectResponse("/", 303)
        problem = ""
        if request.method == "POST":
            sent = (await read_form(request)).get("token", "").strip()
            if same(sent, self.house.token):
                response = RedirectResponse("/", 303)
                give_token(response, sent)
                return response
            problem = "That is not the token."
        return HTMLResponse(page("token.html", problem=problem), 401 if problem else 200)

    def _who(self, request: Request) -> Person:
        session = self._session_of(request)
        name = unquote(request.cookies.get("handsfree-name", ""))
        try:
            name = name_of_person(name)
        except OfficeError:
            name = ""
        return Person(name, csrf_of(self.house.key, session))

    def _session_of(self, request: Request) -> str:
        """The session id of the request; a new one if it has none."""
        session = request.cookies.get(self._session, "")
        if not 20 <= len(session) <= 64:
            session = getattr(request.state, "session", "") or new_session()
            request.state.session = session
        return session

    async def _fields(self, request: Request) -> tuple[Person, dict[str, str]]:
        """The person and the fields of a form that was served to this session."""
        fields = await read_form(request)
        session = request.cookies.get(self._session, "")
        if not is_ours(self.house.key, session, fields):
            raise HTTPException(403)
        return self._who(request), fields

    def _html(self, request: Request, content: str, status: int = 200) -> HTMLResponse:
        response = HTMLResponse(content.encode("utf-8", "replace"), status)
        if given := getattr(request.state, "session", ""):
            response.set_cookie(self._session, given, httponly=True, samesite="lax")
        return response

    def _folder(self, request: Request) -> Path:
        folder = self.index.folder(request.path_params["id"])
        if folder is None:
            raise HTTPException(404)
        return folder

    def _here(self, request: Request) -> str:
        return f"/visit/{request.path_params['id']}"

    def _seen(self, request: Request) -> VisitSnapshot:
        return read_snapshot(self._folder(request), self._here(request))

    def _no_page(self, request: Request, error: Exception) -> Response:
        status = error.status_code if isinstance(error, HTTPException) else 500
        told = TOLD.get(status, "The office does not do this.")
        return trouble_page(TITLES.get(status, "Not here"), told, status)

    def _problem(self, request: Request, error: Exception) -> Response:
        status = 413 if isinstance(error, TooLarge) else 422
        if isinstance(error, JournalError):
            return trouble_page("The journal cannot be used", sentence_of(error), 409)
        return trouble_page("That cannot be done", sentence_of(error), status)

    def _fault(self, request: Request, error: Exception) -> Response:
        return trouble_page(
            "Something went wrong", "Look at the window where the office was started.", 500
        )
