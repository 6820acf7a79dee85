"""Renders the pieces of speech that a phone without a voice plays, as packets of Opus."""

from __future__ import annotations

import io
import json
import struct
from collections.abc import Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor

import numpy as np
import soundfile
import soxr
from numpy.typing import NDArray

from handsfree.errors import PhoneError
from handsfree.job.record import Record
from handsfree.language.wording import Wording
from handsfree.phone.spoken_pieces import phrase_key
from handsfree.sample_rate import SAMPLE_RATE_HZ
from handsfree.synthesis.voice import Voice

_BITS_PER_S = 9_000
"""The lowest bit rate at which the encoder keeps the band up to 8 kHz."""
_LEAST_BITS_PER_S, _SPAN_BITS_PER_S = 6_000, 250_000  # libsndfile's own scale, for one channel
_LOUD = 150 / 2**15
_BEFORE_S, _AFTER_S = 0.01, 0.04  # kept around the sound of a piece
_BATCH = 64
_LACING = 255
_HEAD = b"OpusHead"


class Prompts(Record):
    """The pieces of one language: their names, their sizes in ``sounds``, what was left out.

    ``head`` is the header that the packets of all pieces share. A piece is its number of samples
    (32 bits), then its packets, each after its length as in Ogg: bytes of 255, and one below.
    """

    head: bytes
    phrases: tuple[str, ...]
    sizes: tuple[int, ...]
    sounds: bytes
    left_out: int

    @property
    def index(self) -> bytes:
        """The index for the page and for Python, as JSON."""
        table = {"head": self.head.hex(), "phrases": self.phrases, "sizes": self.sizes}
        return json.dumps(table, ensure_ascii=False, separators=(",", ":")).encode()


def rendered(texts: Sequence[str], voice: Voice, wording: Wording, room_bytes: int) -> Prompts:
    """Renders texts in their order until the room is used up; single words come in any case.

    Raises VoiceError, and PhoneError if this machine's library writes no Opus.
    """
    keys = {text: phrase_key(text, wording) for text in texts}
    found: dict[str, bytes] = {}
    head, size = b"", 0
    for text, (its_head, piece) in zip(texts, _each_encoded(texts, voice), strict=True):
        if size + len(piece) > room_bytes and " " in keys[text]:
            break
        assert head in (b"", its_head)
        head, size = its_head, size + len(piece)
        found[keys[text]] = piece
    return Prompts(
        head=head,
        phrases=tuple(found),
        sizes=tuple(map(len, found.values())),
        sounds=b"".join(found.values()),
        left_out=len(texts) - len(found),
    )


def _each_encoded(texts: Sequence[str], voice: Voice) -> Iterator[tuple[bytes, bytes]]:
    """Encodes on all cores, a batch at a time: encoding takes far longer than speaking."""
    with ThreadPoolExecutor() as encoders:
        for start in range(0, len(texts), _BATCH):
            batch = [voice.speak(_with_end(text)) for text in texts[start : start + _BATCH]]
            yield from encoders.map(_encoded, [_trimmed(one.samples, one.rate) for one in batch])


def _with_end(text: str) -> str:
    """The text with a mark at its end: a phrase in a sentence does not end like a sentence."""
    return text if text[-1] in ".?!" else f"{text.rstrip(',;: ')},"


def _trimmed(samples: NDArray[np.int16], rate: int) -> NDArray[np.float32]:
    """The sound without the silence around it, at the sample rate of the ears."""
    sound = samples.astype(np.float32) / 2**15
    loud = np.flatnonzero(np.abs(sound) > _LOUD)
    first, last = (loud[0], loud[-1]) if len(loud) else (0, 0)
    kept = sound[max(0, first - round(_BEFORE_S * rate)) : last + round(_AFTER_S * rate)]
    return np.asarray(soxr.resample(kept, rate, SAMPLE_RATE_HZ), np.float32)


def _encoded(samples: NDArray[np.float32]) -> tuple[bytes, bytes]:
    """The header of the encoder, and the packets of a sound with their lengths."""
    level = 1 - (_BITS_PER_S - _LEAST_BITS_PER_S) / _SPAN_BITS_PER_S
    content = io.BytesIO()
    settings = {"format": "OGG", "subtype": "OPUS", "compression_level": level}
    try:
        soundfile.write(content, samples, SAMPLE_RATE_HZ, **settings)
    except soundfile.LibsndfileError as error:
        raise PhoneError(
            f"this machine's sound library writes no Opus: {error}",
            way_out="install the wheel of soundfile from PyPI",
        ) from error
    head, _, *packets = _packets(content.getvalue())
    assert head.startswith(_HEAD)
    laced = (b"\xff" * (len(each) // _LACING) + bytes([len(each) % _LACING]) for each in packets)
    body = b"".join(length + packet for length, packet in zip(laced, packets, strict=True))
    return head, struct.pack("<I", len(samples)) + body


def _packets(ogg: bytes) -> Iterator[bytes]:
    """The packets of an Ogg stream (RFC 3533)."""
    at, packet = 0, b""
    while at < len(ogg):
        segments = ogg[at + 27 : at + 27 + ogg[at + 26]]
        at += 27 + len(segments)
        for length in segments:
            packet += ogg[at : at + length]
            at += length
            if length < _LACING:
                yield packet
                packet = b""
