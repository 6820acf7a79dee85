"""Takes pictures of the app at a phone's size. ``python -m tests.bench.phone_pictures PARTS``.

The first page, a visit by day and in the dark, the table of its readings, and the page that
measures a leaf. ``--language es`` takes the same in Spanish.
"""

from __future__ import annotations

import argparse
import tempfile
from pathlib import Path

from handsfree.language.interpreter import Language
from handsfree.phone.build import build
from handsfree.synthesis.voice import VoiceWorker
from tests.bench.screenshots import PICTURES
from tests.phone.app import served
from tests.phone.phone_browser import begin, opened, phone, say, until
from tests.script import typed_lines

LOCALES = {"en": "en-US", "es": "es-MX"}
SPANISH = ("listo", "despejado", "listo", "despejado", "listo")
"""First lines of a visit in Spanish; the script of the recorded visit is English."""


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("parts", type=Path)
    parser.add_argument("--app", type=Path, help="an app that was built with these ears")
    parser.add_argument("--out", type=Path, default=PICTURES)
    parser.add_argument("--language", choices=tuple(LOCALES), default="en")
    chosen = parser.parse_args()
    chosen.out.mkdir(parents=True, exist_ok=True)
    language, name = chosen.language, "phone" if chosen.language == "en" else "phone-es"
    lines = typed_lines() if language == "en" else list(SPANISH)
    with tempfile.TemporaryDirectory() as folder:
        app = chosen.app or Path(folder) / "app"
        if chosen.app is None:
            build(app, chosen.parts, (language,), voice_of=_voice, room_bytes=0)
        with served(app) as address, phone(locale=LOCALES[language]) as context:
            page = opened(context, address)
            until(page, "navigator.serviceWorker.controller !== null")

            def take(shows: str) -> None:
                width = page.evaluate("document.documentElement.scrollWidth")
                assert width <= page.viewport_size["width"], shows
                page.screenshot(path=chosen.out / f"{name}-{shows}.png")

            take("start")
            begin(page)
            for line in lines[:13]:
                say(page, line)
            take("visit")
            page.emulate_media(color_scheme="dark")
            take("visit-dark")
            page.emulate_media(color_scheme="light")
            for line in lines[13:]:
                say(page, line)
            page.evaluate("document.getElementById('readings').scrollIntoView()")
            take("readings")
            page.goto(f"{address}leaf.html")
            until(page, "document.body.dataset.ready === 'page'")
            take("leaf")


def _voice(language: Language) -> VoiceWorker:
    return VoiceWorker(languages=language.wording.voices)


if __name__ == "__main__":
    main()
