"""Finds the photos that a journal names, and decodes a picture from elsewhere.

The original is never kept: a phone's picture says where and with what it was taken. It is decoded
and rewritten upright, so that only its pixels remain.
"""

from __future__ import annotations

import io
import re
import struct
import warnings
import zlib
from collections.abc import Iterable
from typing import TYPE_CHECKING, NamedTuple

from handsfree.errors import PhotoError
from handsfree.journal.events import Event
from handsfree.journal.paper_events import PHOTO_NAME, PhotoKept

if TYPE_CHECKING:  # not available on a phone
    from PIL.Image import Image

PICTURES = "pictures"
"""The folder of a visit with the photos that its journal names."""
DROPPED = "photos"
"""The folder of a visit into which people drop pictures."""
MOST_OF_PHOTO = 50_000_000
"""Largest picture that is read (bytes)."""
MOST_PIXELS = 80_000_000
"""Largest picture that is decoded (pixels): a decoded one takes up to four bytes of memory each."""
LONGEST_SIDE = 3000
"""Longest side of a photo that is kept (pixels): enough to read a type plate."""

_KINDS = ("JPEG", "PNG", "WEBP")
_HEIC = re.compile(rb".{4}ftyp(heic|heix|hevc|hevx|heim|heis|mif1|msf1)", re.DOTALL)
"""The first bytes of a HEIC picture (ISO/IEC 23008-12), as taken by phones; from memory."""
_BROKEN = (OSError, SyntaxError, ValueError, EOFError, struct.error, zlib.error)
"""Exceptions that Pillow raises for a damaged or forged picture."""
_TAKEN = re.compile(r"(\d{4}):(\d\d):(\d\d) (\d\d:\d\d:\d\d)")
_EXIF_IFD, _TAKEN_AT, _CHANGED_AT = 0x8769, 0x9003, 0x0132


class CleanPhoto(NamedTuple):
    """A photo without its metadata: a JPEG file, its size in pixels, and the camera's own time."""

    content: bytes
    width: int
    height: int
    taken_at: str | None


class NamedPhoto(NamedTuple):
    """A photo named in a journal: the line of its event, its file and its SHA-256."""

    seq: int
    name: str
    sha256: str


def photos_kept(events: Iterable[Event]) -> tuple[NamedPhoto, ...]:
    """The photos of a journal, oldest first."""
    return tuple(
        NamedPhoto(event.seq, event.body.file, event.body.sha256)
        for event in events
        if isinstance(event.body, PhotoKept)
    )


def is_photo_name(name: str) -> bool:
    """True for a valid name of a journal's photo."""
    return re.fullmatch(PHOTO_NAME, name) is not None


def clean(content: bytes) -> CleanPhoto:
    """A picture as a JPEG file without metadata, upright, at most LONGEST_SIDE long.

    Raises PhotoError for anything that is not a picture, is damaged, or has too many pixels.
    """
    upright, taken_at = _decoded(content, LONGEST_SIDE)
    return CleanPhoto(_jpeg(upright, 85), upright.width, upright.height, taken_at)


def thumbnail(content: bytes, side: int) -> bytes:
    """A picture as a small JPEG file, at most ``side`` pixels long. Raises PhotoError."""
    return _jpeg(_decoded(content, side)[0], 75)


def _decoded(content: bytes, side: int) -> tuple[Image, str | None]:
    """Decodes a picture: upright, RGB on white, at most ``side`` pixels long; also its camera
    time.
    """
    from PIL import Image, ImageOps, WebPImagePlugin  # not available on a phone

    assert WebPImagePlugin  # it registers itself; the other two are registered already
    kinds = (*_KINDS, _with_heic()) if _HEIC.match(content) else _KINDS

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # from the metadata, which is left out
            warnings.simplefilter("error", Image.DecompressionBombWarning)
            picture: Image.Image = Image.open(io.BytesIO(content), formats=kinds)
            if picture.width * picture.height > MOST_PIXELS:
                raise _too_many_pixels()
            taken_at = _taken_at(picture)
            picture.draft("RGB", (side, side))  # a JPEG need not be decoded at full size
            picture.thumbnail((side, side))
            picture = ImageOps.exif_transpose(picture).convert("RGBA")
    except (Image.DecompressionBombWarning, Image.DecompressionBombError) as error:
        raise _too_many_pixels() from error
    except _BROKEN as error:
        raise PhotoError(
            "it is not a picture, or it is damaged", way_out="drop a JPEG, PNG or WebP picture"
        ) from error
    # A new picture, so that nothing else that Pillow read, such as a comment, remains.
    plain = Image.new("RGB", picture.size, "white")
    plain.paste(picture, mask=picture.getchannel("A"))
    return plain, taken_at


def _with_heic() -> str:
    """The format name HEIC, registered by Pillow's optional decoder. Raises PhotoError."""
    try:
        from pi_heif import register_heif_opener  # the extra 'heic'
    except ImportError as error:
        raise PhotoError(
            "it is a HEIC picture, and the decoder for these is not installed",
            way_out="export it as JPEG and drop that, or pip install 'handsfree[heic]'",
        ) from error
    register_heif_opener()
    return "HEIF"


def _too_many_pixels() -> PhotoError:
    return PhotoError(
        f"it has more than {MOST_PIXELS // 1_000_000} million pixels",
        way_out="make it smaller and try again",
    )


def _taken_at(picture: Image) -> str | None:
    exif = picture.getexif()
    for told in (exif.get_ifd(_EXIF_IFD).get(_TAKEN_AT), exif.get(_CHANGED_AT)):
        found = _TAKEN.match(told) if isinstance(told, str) else None
        if found is not None:
            return f"{found[1]}-{found[2]}-{found[3]}T{found[4]}"
    return None


def _jpeg(picture: Image, quality: int) -> bytes:
    written = io.BytesIO()
    picture.save(written, "JPEG", quality=quality)
    return written.getvalue()
