"""The office's second ear: transcribes spoken notes for a person to check."""

from __future__ import annotations

import threading
from collections.abc import Callable

from handsfree.errors import SecondEarError
from handsfree.office.spoken_words import spoken_words
from handsfree.office.visit_snapshot import VisitSnapshot
from handsfree.reports.embedded_sound import LinkedSound
from handsfree.second_ear.port import SecondEar

Opener = Callable[[str], SecondEar | None]
"""Opens a second ear for a language; None if no ear is installed for it."""
WAIT_S = 60.0
"""Longest time to wait for one note (s): the network may have to be loaded first."""


class Transcriber:
    """One second ear per language, opened on first use. Nothing that it hears is kept."""

    def __init__(self, opener: Opener | None) -> None:
        self._opener = opener
        self._ears: dict[str, SecondEar | None] = {}
        self._lock = threading.Lock()

    @property
    def there(self) -> bool:
        """True if an ear may be available."""
        return self._opener is not None

    def text(self, seen: VisitSnapshot, seq: int) -> str:
        """The transcript of the note or reason of event ``seq``; '' if there is none."""
        words = spoken_words(seen.visit, seq)
        ear = self._ear(seen.visit.sheet.language)
        if words is None or ear is None or seen.sound(words.clip) is None or words.clip is None:
            return ""
        samples = LinkedSound(seen.folder, "").samples(words.clip)
        if samples is None:
            return ""
        try:
            return ear.begin(samples).result(WAIT_S)
        except (SecondEarError, TimeoutError):
            return ""

    def close(self) -> None:
        """Closes every ear."""
        with self._lock:
            for ear in self._ears.values():
                if ear is not None:
                    ear.close()
            self._ears.clear()

    def _ear(self, language: str) -> SecondEar | None:
        with self._lock:
            if language not in self._ears:
                try:
                    found = self._opener(language) if self._opener is not None else None
                except SecondEarError:
                    found = None
                self._ears[language] = found
            return self._ears[language]
