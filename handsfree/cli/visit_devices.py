"""The devices of a visit (ears, mouth, second ear, display), and the visit that uses them."""

from __future__ import annotations

from contextlib import ExitStack
from pathlib import Path
from typing import Any

from handsfree.cli.live_view import watchers
from handsfree.cli.microphone_options import Live
from handsfree.cli.visit_ending import visit_console
from handsfree.cli.visit_setup import (
    TYPED,
    open_ears,
    second_ear,
    second_pass,
    visit_mouth,
)
from handsfree.clock import SystemClock
from handsfree.dialogue.state import State
from handsfree.journal.writer import Journal
from handsfree.language.interpreter import Language
from handsfree.settings import Settings
from handsfree.synthesis.port import Mouth
from handsfree.visit.session import Visit


class VisitDevices:
    """Opens the ears that ``name`` means, and the display; ``stack`` closes everything.

    A recording starts at ``start_s``; ``view`` shows the panel. Raises ModelError or SoundError.
    """

    def __init__(
        self,
        name: str,
        language: Language,
        settings: Settings,
        live: Live,
        stack: ExitStack,
        *,
        view: bool,
        start_s: float = 0.0,
    ) -> None:
        self._name = name
        self._language = language
        self._settings = settings
        self._live = live
        self._stack = stack
        self._visit: Visit | None = None
        self.console = visit_console()
        self._watch, on_block = watchers(
            self.console,
            language.wording,
            stack,
            view=view,
            typed=name == TYPED,
            place=lambda: self._visit.place if self._visit else "",
        )
        self.ears, self.model = open_ears(
            name, language, live, stack, start_s=start_s, on_block=on_block
        )

    def open_mouth(self, folder: Path) -> Mouth:
        """Opens the mouth; with a recording its speech goes into ``folder``."""
        w = self._language.wording
        mouth = visit_mouth(folder, self._name, self._settings, w, self._live, self.ears)
        self._stack.callback(mouth.close)
        return mouth

    def visit(
        self, journal: Journal, state: State, mouth: Mouth, *, voice: float = 0.0
    ) -> tuple[Visit, dict[str, Any]]:
        """Returns the visit, and the names of its devices for the journal.

        ``voice`` is the level of the technician's voice if it is known from before (RMS, 0 to 1).
        """
        ear = second_ear(self._name, self._settings, self._language)
        if ear is not None:
            self._stack.callback(ear.close)
        self._visit = Visit(
            journal,
            state,
            language=self._language,
            ears=self.ears,
            mouth=mouth,
            clock=SystemClock(),
            watch=self._watch,
            tones=self._settings.tones,
            keep_clips=self._settings.keep_clips,
            voice=voice,
            retry=second_pass(self._name, self._language),
            ear=ear,
        )
        named = {"ears": self._name, "mouth": mouth.name, "second_ear": ear.name if ear else ""}
        return self._visit, named
