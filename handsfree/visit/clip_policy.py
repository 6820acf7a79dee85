"""Decides which sound of a visit is stored, and reports when storing fails."""

from __future__ import annotations

from typing import TYPE_CHECKING

from handsfree.dialogue.state import State
from handsfree.errors import JournalError
from handsfree.journal.clip_files import flac_of, store_flac
from handsfree.journal.events import Fault
from handsfree.journal.writer import Journal
from handsfree.language.meaning import (
    Correction,
    Meaning,
    ReadingSaid,
    ReadingsSaid,
    VisitFactSaid,
)
from handsfree.recognition.port import Utterance

if TYPE_CHECKING:  # not available on a phone
    import numpy as np
    from numpy.typing import NDArray

    from handsfree.settings import KeepClips

Clip = tuple[str, str]
"""Path of a file below clips/, and its hash."""


class ClipPolicy:
    """Stores clips according to the settings: everything, only readings and notes, or nothing."""

    def __init__(self, journal: Journal, keep: KeepClips = "all") -> None:
        self._journal = journal
        self._keep = keep
        self._failing = False

    def of_utterance(
        self, utterance: Utterance, meaning: Meaning | None, state: State
    ) -> tuple[Clip | None, tuple[Fault, ...]]:
        """Stores the sound of an utterance; returns the clip and a fault to report if storing
        failed.

        A bare number answers the pending question, so it counts as a reading.
        """
        question = state.pending
        matters = isinstance(meaning, ReadingSaid | ReadingsSaid | Correction | VisitFactSaid) or (
            question is not None and question.keeps_sound
        )
        wanted = self._keep == "all" or (self._keep == "readings" and matters)
        sound = utterance.samples if utterance.measured is None else utterance.measured.flac
        return self._kept(sound) if wanted and sound is not None else (None, ())

    def of_run(self, samples: NDArray[np.int16] | bytes) -> tuple[Clip | None, tuple[Fault, ...]]:
        """Stores the sound of a timed cycle, whose times are readings."""
        return self._kept(samples) if self._keep != "none" and len(samples) else (None, ())

    def _kept(self, sound: NDArray[np.int16] | bytes) -> tuple[Clip | None, tuple[Fault, ...]]:
        try:
            content = sound if isinstance(sound, bytes) else flac_of(sound)
            clip = store_flac(self._journal.folder, self._journal.next_seq, content)
        except JournalError as error:
            # The words matter more than their sound: the visit continues as long as the journal can
            # be written.
            reported, self._failing = self._failing, True
            return None, () if reported else (Fault(what="clip_not_kept", detail=str(error)),)
        self._failing = False
        return clip, ()
