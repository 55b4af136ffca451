"""Frames: how one batch of changes stands in the journal, version 2.

All numbers are little-endian and unsigned.

======  =====  ==============================================================================
offset  bytes  content
======  =====  ==============================================================================
0       4      magic: F5 'S' 'J' and the version of the payload, '1' or '2'
4       4      length of the payload in bytes, 2 to MAX_PAYLOAD_BYTES
8       8      sequence number, 1 for the first frame of a journal, then +1 each
16      4      CRC-32 (IEEE, as in zlib) of bytes 0-15 followed by bytes 20-23
20      4      CRC-32 of the payload
24      length payload: one JSON object in UTF-8
======  =====  ==============================================================================

The byte F5 cannot occur in UTF-8, so a search for the next frame never stops inside a sound
payload. Later versions keep these 24 bytes and change only the fourth; a frame with a valid header
and a later version is `newer`, not damaged. Version 2 says in its payload which frame it was
written after (batch.py), so that a write that never reached the medium is found by the next one.
"""

import hashlib
import struct
import zlib
from dataclasses import dataclass

_PREFIX = b"\xf5SJ"
OLDEST = ord("1")
VERSION = ord("2")
MAX_PAYLOAD_BYTES = 1 << 18
DIGEST_BYTES = 16
NO_DIGEST = bytes(DIGEST_BYTES)  # of no frame: the first one, or one whose former is not known

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
    digest: bytes  # of all its bytes; see `digest_of`
    version: int = VERSION

    @property
    def newer(self) -> bool:
        """Whether a newer app wrote it."""
        return self.version > VERSION


@dataclass(frozen=True, slots=True, kw_only=True)
class Position:
    """The last frame of a journal, and the number of the next one.

    Attributes
    ----------
    seq : int
        Its sequence number; 0 where there is no frame.
    start, end : int
        Its bytes; the next frame goes to `end`.
    digest : bytes
        What the next frame says of it.
    skipped : int
        Numbers that were acknowledged and whose frames are gone: they are not given again.
    """

    seq: int = 0
    start: int = 0
    end: int
    digest: bytes = NO_DIGEST
    skipped: int = 0

    @property
    def next_seq(self) -> int:
        """The number of the next frame."""
        return self.seq + self.skipped + 1


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


def digest_of(frame: bytes) -> bytes:
    """Return what the next frame says of this one: the first 16 bytes of its SHA-256."""
    return hashlib.sha256(frame).digest()[:DIGEST_BYTES]


def encode_frame(seq: int, payload: bytes, *, version: int = VERSION) -> bytes:
    """Return the bytes of one frame.

    Raises
    ------
    ValueError
        The payload is empty or longer than MAX_PAYLOAD_BYTES.
    """
    if not 2 <= len(payload) <= MAX_PAYLOAD_BYTES:
        raise ValueError(f"a payload of {len(payload)} bytes")
    checked = _CHECKED.pack(_PREFIX + bytes([version]), len(payload), seq)
    payload_crc = _CRC.pack(zlib.crc32(payload))
    header_crc = _CRC.pack(zlib.crc32(payload_crc, zlib.crc32(checked)))
    return checked + header_crc + payload_crc + payload


def read_frame(data: bytes, at: int, *, origin: int = 0) -> Frame | None:
    """Return the sound frame that starts at `data[at]`, or None; `origin` as in `scan`."""
    if at + HEADER_BYTES > len(data):
        return None
    magic, length, seq, header_crc, payload_crc = _HEADER.unpack_from(data, at)
    known = magic[:3] == _PREFIX and magic[3] >= OLDEST
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
        digest=digest_of(data[at:end]),
        version=magic[3],
    )


def is_written_out(data: bytes) -> bool:
    """Whether bytes that begin a damaged frame are at least as many as its header says.

    Then it was damaged after it was written; too few were cut off while they were written.
    """
    if len(data) < HEADER_BYTES or read_frame(data, 0) is not None:
        return False
    magic, length, _, _, _ = _HEADER.unpack_from(data)
    return magic[:3] != _PREFIX or len(data) >= HEADER_BYTES + length


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
