"""Prints a visit as it happens, event by event."""

from __future__ import annotations

from rich.console import Console
from rich.containers import Lines
from rich.text import Text

from handsfree.errors import DisplayError
from handsfree.journal import events as ev
from handsfree.language.wording import Wording
from handsfree.visit_record.kept_words import kept_as

_STYLE = {
    "warning": "bold red",
    "caution": "bold yellow",
    "finding": "green",
    "readback": "cyan",
    "repair": "magenta",
}


_INDENT = 10
"""Width of the column of who speaks (characters)."""
_NARROWEST = 20
"""Narrowest column left for the text of a line (characters)."""
_LOST = ("microphone_lost", "microphone_silent", "loudspeaker_lost", "voice_lost", "clip_not_kept")
_TOLD = (*_LOST, "microphone_back", "loudspeaker_back", "voice_back", "sound_overflowed")


class Conversation:
    """Shows who said what, one line per utterance.

    A visit by voice continues if the terminal fails. A typed visit needs the terminal (``needed``),
    so a DisplayError ends it.
    """

    def __init__(self, console: Console, w: Wording, *, needed: bool = False) -> None:
        self._console = console
        self._w = w
        self._needed = needed
        self._gone = False
        self._missed: str | None = None  # shown once it is known whether it is kept
        self._standing_by = False
        self._told: str | None = None  # a fault that is printed before it is spoken

    def __call__(self, event: ev.Event) -> None:
        """Prints an event that a bystander would hear or should know of."""
        self._tell_missed(event.body)
        match event.body:
            case ev.Said(text=text) if text == self._told:
                self._told = None
            case ev.Said(text=text, role=role):
                self.line("who_tool", text, _STYLE.get(role, ""))
            case ev.Heard(text=text, meaning=None) if not self._standing_by:
                self._missed = text
            case ev.Heard(text=text, meaning=None):
                self.line("who_heard", f"{text}  ({self._w.say('heard_missed')})", "dim")
            case ev.Heard(text=text):
                self.line("who_heard", text, "bold")
            case ev.TailRecovered(kept_as=kept_as):
                self.line("who_journal", self._w.say("tail_aside", file=kept_as), "dim")
            case ev.Fault(what=what) if what in _TOLD:
                self._told = self._w.say(f"fault_{what}")
                self.line("who_tool", self._told, "bold red" if what in _LOST else "green")
            case ev.StoodBy():
                self._standing_by = True
            case ev.CarriedOn():
                self._standing_by = False

    def _tell_missed(self, after: ev.Body) -> None:
        """Prints words outside the grammar, which may be a note, a reason or a name."""
        text, self._missed = self._missed, None
        if text is None:
            return
        kept = kept_as(after) is not None
        became = self._w.say("heard_kept" if kept else "heard_missed")
        self.line("who_heard", f"{text}  ({became})", "" if kept else "dim")

    def line(self, who: str, text: str, style: str = "") -> None:
        """Prints a line after the speaker's name ('who_tool', 'who_heard')."""
        if self._gone:
            return
        begin = f"{self._w.say(who):>{_INDENT - 2}}  "
        body = Text(text, style=style)
        try:
            if self._console.is_terminal:
                # Wrapped here: a terminal breaks a long line in the middle of a word.
                width = max(self._console.width - _INDENT, _NARROWEST)
                lines = body.wrap(self._console, width)
            else:
                lines = Lines([body])
            for line in lines:
                self._console.print(Text.assemble((begin, "dim"), line))
                begin = " " * _INDENT
        except (OSError, ValueError) as error:
            self._gone = True
            if self._needed:
                reason = (getattr(error, "strerror", None) or "the reader has ended").lower()
                raise DisplayError(
                    f"the conversation can no longer be shown: {reason}",
                    way_out="every accepted reading is kept; continue with handsfree resume",
                ) from error
