"""Every error that a user can cause, as one tree.

::

    HandsfreeError              exit code 2; names fault, place and way out
    ├── BadValue                a word, number or unit that cannot be read
    ├── JobError                a job file
    ├── LimitsError             a limits file
    ├── ProcedureError          a procedure file
    ├── ControllerError         a file of a controller's menu
    ├── SearchTreeError         a search tree file
    ├── WordingError            a wording file of a language
    ├── GrammarError            a grammar file
    ├── SoundError              a sound file or a sound device
    ├── MotionError             a log of rotation rates, or what it shows
    ├── ModelError              a speech model folder
    ├── SecondEarError          the second ear: its weights, its process
    ├── SettingsError           the settings file
    ├── JournalError            a journal or visit folder
    │   ├── JournalBusy         another program is writing it
    │   └── JournalGone         it was deleted, moved or replaced during the visit
    ├── DisplayError            a terminal that takes no more output
    ├── OfficeError             an office change that cannot be made
    ├── LedgerError             a ledger: its address, its database
    ├── PhotoError              a picture that cannot be taken into a visit
    ├── PackError               a packed visit that cannot be made or unpacked
    ├── RehearsalError          a door, a fault or a voice of a rehearsal
    ├── PhoneError              the app for a phone: its parts, its folder, its server
    └── VoiceError              the speaking voice

A door that fails its check is not an error but a finding, a value.
"""

from __future__ import annotations

from pathlib import Path
from typing import Literal

from handsfree.exit_codes import ExitCode


class HandsfreeError(Exception):
    """One clear line for the user.

    ``file`` and ``line`` say where the error is, ``way_out`` what to do about it.
    """

    exit_code: int = ExitCode.BAD_INPUT

    def __init__(
        self,
        message: str,
        *,
        file: Path | str | None = None,
        line: int | None = None,
        way_out: str | None = None,
    ) -> None:
        super().__init__(message)
        self.message = message
        self.file = Path(file) if file is not None else None
        self.line = line
        self.way_out = way_out

    def __str__(self) -> str:
        where = ""
        if self.file is not None:
            where = str(self.file) + (f", line {self.line}" if self.line is not None else "") + ": "
        out = where + self.message
        return f"{out} ({self.way_out})" if self.way_out else out


class BadValue(HandsfreeError):
    """A word, number or unit that cannot be read."""


class JobError(HandsfreeError):
    """A job file that is missing, broken or contradicts itself."""


class LimitsError(HandsfreeError):
    """A limits file that is missing or broken."""


class ProcedureError(HandsfreeError):
    """A procedure file that is missing or broken."""


class ControllerError(HandsfreeError):
    """A file of a controller's menu that is missing or broken."""


class SearchTreeError(HandsfreeError):
    """A search tree file that is missing or broken."""


class WordingError(HandsfreeError):
    """A wording file that cannot be used, or a sentence that is not in it."""


class GrammarError(HandsfreeError):
    """A grammar file that is missing or broken."""


class SoundError(HandsfreeError):
    """A sound file or device that cannot be used."""


LogFault = Literal[
    "unreadable",
    "too_large",
    "bad_name",
    "still_copied",
    "no_columns",
    "no_unit",
    "no_samples",
    "no_number",
    "bad_time",
    "bad_rate",
    "clipped",
    "too_fast",
    "nothing_turns",
    "too_short",
    "no_rest_before",
    "no_rest_after",
    "gap",
    "no_cycle",
    "other_angle",
]
"""Faults of a log of rotation rates; a visit speaks them in the technician's language."""


class MotionError(HandsfreeError):
    """A log of rotation rates that cannot be read, or that shows no cycle."""

    def __init__(
        self,
        message: str,
        *,
        fault: LogFault = "unreadable",
        file: Path | str | None = None,
        line: int | None = None,
        way_out: str | None = None,
    ) -> None:
        super().__init__(message, file=file, line=line, way_out=way_out)
        self.fault: LogFault = fault


class ModelError(HandsfreeError):
    """A speech model folder that cannot be used."""


class SecondEarError(HandsfreeError):
    """The second ear cannot be used, or its process died."""


class SettingsError(HandsfreeError):
    """The settings file cannot be read or written."""


class JournalError(HandsfreeError):
    """A journal or visit folder that cannot be used."""


class JournalBusy(JournalError):
    """Another program is writing this journal."""


class JournalGone(JournalError):
    """The journal was deleted, moved or replaced during the visit."""


class DisplayError(HandsfreeError):
    """The output of a typed visit can no longer be shown."""


class OfficeError(HandsfreeError):
    """An office change that cannot be made, or a page that cannot be served."""


class LedgerError(HandsfreeError):
    """A ledger that cannot be used."""


class PhotoError(HandsfreeError):
    """A picture that cannot be taken into a visit."""


class PackError(HandsfreeError):
    """A packed visit that cannot be made or unpacked."""


class PhoneError(HandsfreeError):
    """A part of the app for a phone that is missing or wrong, or an app that cannot be served."""


class RehearsalError(HandsfreeError):
    """A rehearsal's door that is impossible, or a fault that it cannot have."""


class VoiceError(HandsfreeError):
    """The speaking voice cannot be used."""
