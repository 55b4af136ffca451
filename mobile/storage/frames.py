"""Frames: how one batch of changes stands in the journal, version 1.

All numbers are little-endian and unsigned.

======  =====  ==============================================================================
offset  bytes  content
======  =====  ==============================================================================
0       4      magic: F5 'S' 'J' and the version of the payload, '1'
4       4      length of the payload in bytes, 2 to MAX_PAYLOAD_BYTES
8       8      sequence number, 1 for the first frame of a journal, then +1 each
16      4      CRC-32 (IEEE, as in zlib) of bytes 0-15 followed by bytes 20-23
20      4      CRC-32 of the payload
24      length payload: one JSON object in UTF-8
======  =====  ==============================================================================

The byte F5 cannot occur in UTF-8, so a search for the next frame never stops inside a sound
payload. Later versions keep these 24 bytes and change only the fourth; a frame with a valid header
and a later version is `newer`, not damaged.
"""

import struct
import zlib
from dataclasses import dataclass

_PREFIX = b"\xf5SJ"
VERSION = ord("1")
MAGIC = _PREFIX + bytes([VERSION])
MAX_PAYLOAD_BYTES = 1 << 18

_HEADER = struct.Struct("<4sIQII")
_CHECKED = struct.Struct("<4sIQ")
_CRC = struct.Struct("<I")
HEADER_BYTES = _HEADER.size


@dataclass(frozen=True, slots=True, kw_only=True)
class Frame:
    """One sound frame and where it stands: bytes `start` up to, not including, `end`."""

    seq: int
    payload: bytes
    start: int
    end: int
    newer: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Span:
    """Bytes `start` up to, not including, `end`."""

    start: int
    end: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Scan:
    """What a run of bytes holds.

    Attributes
    ----------
    frames : tuple of Frame
        Sound frames in the order of their place.
    damaged : tuple of Span
        What lies between two sound frames, or before the first, and is none itself.
    tail : Span or None
        What follows the last sound frame.
    """

    frames: tuple[Frame, ...]
    damaged: tuple[Span, ...]
    tail: Span | None


def encode_frame(seq: int, payload: bytes) -> bytes:
    """Return the bytes of one frame.

    Raises
    ------
    ValueError
        The payload is empty or longer than MAX_PAYLOAD_BYTES.
    """
    if not 2 <= len(payload) <= MAX_PAYLOAD_BYTES:
        raise ValueError(f"a payload of {len(payload)} bytes")
    checked = _CHECKED.pack(MAGIC, len(payload), seq)
    payload_crc = _CRC.pack(zlib.crc32(payload))
    header_crc = _CRC.pack(zlib.crc32(payload_crc, zlib.crc32(checked)))
    return checked + header_crc + payload_crc + payload


def read_frame(data: bytes, at: int, *, origin: int = 0) -> Frame | None:
    """Return the sound frame that starts at `data[at]`, or None; `origin` as in `scan`."""
    if at + HEADER_BYTES > len(data):
        return None
    magic, length, seq, header_crc, payload_crc = _HEADER.unpack_from(data, at)
    known = magic[:3] == _PREFIX and magic[3] >= VERSION
    if not known or not 2 <= length <= MAX_PAYLOAD_BYTES:
        return None
    checked = data[at : at + _CHECKED.size] + _CRC.pack(payload_crc)
    start, end = at + HEADER_BYTES, at + HEADER_BYTES + length
    if zlib.crc32(checked) != header_crc or end > len(data):
        return None
    payload = data[start:end]
    if zlib.crc32(payload) != payload_crc:
        return None
    return Frame(
        seq=seq,
        payload=payload,
        start=origin + at,
        end=origin + end,
        newer=magic[3] > VERSION,
    )


def scan(data: bytes, start: int = 0, *, origin: int = 0) -> Scan:
    """Find every sound frame from `start` on, and the bytes that belong to none.

    `origin` is the place of `data[0]` in the file: all places, `start` too, are those of the file.
    """
    frames: list[Frame] = []
    damaged: list[Span] = []
    good_end = at = start
    end = origin + len(data)
    while at < end:
        frame = read_frame(data, at - origin, origin=origin)
        if frame is None:
            found = data.find(_PREFIX, at - origin + 1)
            at = found + origin if found >= 0 else end
            continue
        if frame.start > good_end:
            damaged.append(Span(start=good_end, end=frame.start))
        frames.append(frame)
        good_end = at = frame.end
    tail = Span(start=good_end, end=end) if good_end < end else None
    return Scan(frames=tuple(frames), damaged=tuple(damaged), tail=tail)
