"""Checks before every request: host name, origin, size and access token."""

from __future__ import annotations

import hmac
import ipaddress
import socket
from collections.abc import Iterable
from http.cookies import CookieError, SimpleCookie
from urllib.parse import parse_qs, quote, urlencode

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import PlainTextResponse, RedirectResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from handsfree.office.form_parser import LARGEST

TOKEN_COOKIE = "handsfree-token"
_OPEN = ("/token", "/static/", "/favicon.ico")
"""Paths served without a token."""
POLICY = (
    "default-src 'none'; style-src 'self'; script-src 'self'; img-src 'self' data:; "
    "media-src 'self'; connect-src 'self'; form-action 'self'; base-uri 'none'; "
    "frame-ancestors 'none'"
)


class Guard:
    """Refuses requests that do not come from the office's pages, and sets security headers.

    ``names`` holds the accepted host names. ``any_address`` also accepts any IP address, because
    only names can be redirected. ``token`` is required unless it is None. ``called`` is the name of
    the service, for refusal messages.
    """

    def __init__(
        self,
        app: ASGIApp,
        names: Iterable[str],
        *,
        any_address: bool,
        token: str | None,
        called: str = "The office",
    ) -> None:
        self._app = app
        self._names = frozenset(name.lower() for name in names)
        self._any_address = any_address
        self._token = token
        self._called = called

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """ASGI."""
        if scope["type"] == "lifespan":
            await self._app(scope, receive, send)
            return
        if scope["type"] != "http":
            await send({"type": "websocket.close", "code": 1008})
            return

        async def with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                _harden(MutableHeaders(scope=message))
            await send(message)

        refused = self._refusal(scope)
        await (refused or self._app)(scope, receive, with_headers)

    def _refusal(self, scope: Scope) -> Response | None:
        headers = Headers(scope=scope)
        if not self._is_ours(headers.getlist("host")):
            return PlainTextResponse(f"{self._called} does not go by this name.\n", 421)
        if scope["method"] not in ("GET", "HEAD", "POST"):
            return PlainTextResponse("Not here.\n", 405)
        if scope["method"] == "POST":
            if headers.get("sec-fetch-site", "same-origin") not in ("same-origin", "none"):
                return PlainTextResponse("This form comes from another site.\n", 403)
            origin = headers.get("origin", "null")
            if origin != "null" and origin.partition("://")[2] != headers["host"]:
                return PlainTextResponse("This form comes from another site.\n", 403)
            length = headers.get("content-length", "0")
            if not length.isdecimal() or int(length) > LARGEST:
                return PlainTextResponse("That is too much for this form.\n", 413)
        return self._token_refusal(scope, headers)

    def _is_ours(self, hosts: list[str]) -> bool:
        if len(hosts) != 1:
            return False
        host = hosts[0].lower()
        host = host.partition("]")[0][1:] if host.startswith("[") else host.partition(":")[0]
        return host in self._names or (self._any_address and _is_address(host))

    def _token_refusal(self, scope: Scope, headers: Headers) -> Response | None:
        path: str = scope["path"]
        if self._token is None or path.startswith(_OPEN):
            return None
        query = parse_qs(scope["query_string"].decode("latin-1"))
        if (sent := query.pop("token", [""])[-1]) and scope["method"] == "GET":
            if not same(sent, self._token):
                return PlainTextResponse("This is not the token.\n", 401)
            rest = f"?{urlencode(query, doseq=True)}" if query else ""
            response: Response = RedirectResponse(f"/{quote(path.lstrip('/'))}{rest}", 303)
            give_token(response, sent)
            return response
        if same(_cookie(headers, TOKEN_COOKIE), self._token):
            return None
        if scope["method"] == "GET":
            return RedirectResponse("/token", 303)
        return PlainTextResponse(f"{self._called} asks for its token first.\n", 401)


def give_token(response: Response, token: str) -> None:
    """Stores the access token in a cookie that scripts and other sites cannot read."""
    response.set_cookie(TOKEN_COOKIE, token, httponly=True, samesite="lax")


def same(one: str, other: str) -> bool:
    """True if two secrets are equal; the comparison takes constant time."""
    return hmac.compare_digest(one.encode("utf-8", "replace"), other.encode())


def names_of(host: str) -> tuple[tuple[str, ...], bool]:
    """Host names of an office served at ``host``, and whether any IP address is accepted."""
    if is_loopback(host):
        return ("localhost", "127.0.0.1", "::1", host), False
    return ("localhost", "127.0.0.1", "::1", host, socket.gethostname()), True


def is_loopback(host: str) -> bool:
    """True if only this machine can reach an office served at ``host``."""
    if host.lower() == "localhost":
        return True
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return False


def _is_address(host: str) -> bool:
    try:
        ipaddress.ip_address(host)
    except ValueError:
        return False
    return True


def _cookie(headers: Headers, name: str) -> str:
    try:
        found = SimpleCookie("; ".join(headers.getlist("cookie"))).get(name)
    except CookieError:
        return ""
    return found.value if found is not None else ""


def _harden(headers: MutableHeaders) -> None:
    headers.setdefault("content-security-policy", POLICY)
    headers.setdefault("cache-control", "no-store")
    headers["x-content-type-options"] = "nosniff"
    headers["referrer-policy"] = "no-referrer"
    headers["x-frame-options"] = "DENY"
    headers["cross-origin-resource-policy"] = "same-origin"
    headers["cross-origin-opener-policy"] = "same-origin"
