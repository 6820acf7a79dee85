"""Error pages: why something cannot be done, and where to go next."""

from __future__ import annotations

from starlette.responses import HTMLResponse

from handsfree.errors import HandsfreeError
from handsfree.office.templating import page

TITLES = {403: "This page is too old", 404: "There is no such page"}
TOLD = {
    403: "It was not given to this browser, or the office has been restarted since. Nothing was"
    " changed. Go back, load the page again, and do it once more.",
    404: "The visit was moved or removed, or the thing is not in it.",
}


def trouble_page(title: str, problem: str, status: int) -> HTMLResponse:
    """A page with one plain reason."""
    about = {"fields": {}, "to": "/", "to_words": "All visits"}
    made = page("problem.html", title=title, problem=problem, **about)
    return HTMLResponse(made.encode("utf-8", "replace"), status)


def sentence_of(error: Exception) -> str:
    """An error's message without its file's path, which must not leave the machine."""
    if not isinstance(error, HandsfreeError):
        return str(error)
    line = f"line {error.line}: " if error.line is not None else ""
    out = f" ({error.way_out})" if error.way_out else ""
    told = f"{line}{error.message}{out}."
    return f"{told[:1].upper()}{told[1:]}"


def inside(back: str) -> str:
    """A safe address inside the office to go back to; otherwise the list."""
    ours = back.startswith("/") and not back.startswith("//") and "\\" not in back
    return back if ours and back.isprintable() and len(back) < 500 else "/"
