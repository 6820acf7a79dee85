"""The letterhead of a company's records: name, address, logo and paper, from the settings."""

from __future__ import annotations

import locale
import os
from pathlib import Path
from typing import Literal

from handsfree.errors import HandsfreeError, SettingsError
from handsfree.job.record import Record
from handsfree.reports.typeset import try_picture
from handsfree.settings import Settings, load_settings
from handsfree.toml_source import file_bytes

Paper = Literal["letter", "a4"]
_LETTER = frozenset(
    (
        *("US", "CA", "MX", "PR", "PH", "CL", "CO", "CR", "CU"),
        *("DO", "GT", "HN", "NI", "PA", "SV", "VE"),
    )
)
"""Territories that use US Letter (Unicode CLDR, paper size; from memory)."""
MOST_LOGO_BYTES = 2_000_000
"""Size limit of a logo (bytes), which is part of every record."""
_WAY_OUT = "name a PNG, JPEG, GIF, WebP or SVG picture in the setting 'company_logo'"


class Letterhead(Record):
    """Name, address and logo of the company ('' or empty if not set), and the paper."""

    company: str = ""
    address: str = ""
    logo: bytes = b""
    paper: Paper = "letter"


def letterhead_of(settings: Settings) -> Letterhead:
    """The letterhead of the settings. Raises SettingsError for a logo that is not a picture."""
    return Letterhead(
        company=settings.company or "",
        address=settings.company_address or "",
        logo=b"" if settings.company_logo is None else read_logo(settings.company_logo),
        paper=settings.paper or local_paper(),
    )


def own_letterhead() -> Letterhead:
    """The letterhead of the current settings. Raises SettingsError."""
    return letterhead_of(load_settings())


def local_paper(territory: str | None = None) -> Paper:
    """The usual paper of a territory ('US'), by default this machine's; Letter if unknown."""
    there = territory or _territory()
    return "letter" if not there or there in _LETTER else "a4"


def _territory() -> str:
    """The territory of this machine's locale: 'US' for en_US.UTF-8; '' if none is set."""
    named = next(filter(None, map(os.environ.get, ("LC_ALL", "LC_PAPER", "LANG"))), None)
    name = named or locale.getlocale()[0] or ""
    territory = name.partition(".")[0].partition("@")[0].partition("_")[2]
    return territory.upper() if len(territory) == 2 else ""


def read_logo(file: Path) -> bytes:
    """Reads a logo. Raises SettingsError if it is not a picture, or larger than 2 MB."""
    try:
        content = file_bytes(file, MOST_LOGO_BYTES)
    except OSError as error:
        reason = error.strerror or str(error)
        reason = reason[:1].lower() + reason[1:]
        raise SettingsError(
            f"the logo cannot be read: {reason}", file=file, way_out=_WAY_OUT
        ) from error
    try:
        try_picture(content)
    except HandsfreeError as error:
        raise SettingsError("the logo is not a picture", file=file, way_out=_WAY_OUT) from error
    return content
