"""Reads a photo that the page has redrawn, and keeps only the pixels of the JPEG file.

The page decodes the picture and redraws it upright, at most as long as a visit keeps. That drops
what the camera says about place and owner; anything that the browser adds to the pixels is dropped
here.
"""

from __future__ import annotations

import struct

from handsfree.errors import PhotoError
from handsfree.journal.photo_files import LONGEST_SIDE, CleanPhoto

_START, _SCAN = b"\xff\xd8", 0xDA
_BESIDE = {*range(0xE1, 0xF0), 0xFE}
"""Segments that can hold metadata: APP1 to APP15 and comments (ITU-T T.81, B.1.1.3, memory)."""
_FRAMES = {*range(0xC0, 0xD0)} - {0xC4, 0xC8, 0xCC}
_LENGTH, _SIZE = struct.Struct(">BBH"), struct.Struct(">xHH")


def drawn_photo(content: bytes) -> CleanPhoto:
    """The photo without metadata, and its size in pixels.

    Raises PhotoError for anything that is not a JPEG file, or is longer than LONGEST_SIDE.
    """
    kept, at, size = [_START], len(_START), (0, 0)
    try:
        while (head := _LENGTH.unpack_from(content, at))[0] == 0xFF and head[1] != _SCAN:
            end = at + 2 + head[2]
            if head[1] in _FRAMES:
                height, width = _SIZE.unpack_from(content, at + _LENGTH.size)
                size = (width, height)
            if head[1] not in _BESIDE:
                kept.append(content[at:end])
            at = end
    except struct.error as error:
        raise _no_photo() from error
    whole = content.startswith(_START) and head[:2] == (0xFF, _SCAN)
    if not whole or not all(0 < side <= LONGEST_SIDE for side in size):
        raise _no_photo()
    return CleanPhoto(b"".join((*kept, content[at:])), *size, None)


def _no_photo() -> PhotoError:
    return PhotoError("this picture could not be read", way_out="take it again")
