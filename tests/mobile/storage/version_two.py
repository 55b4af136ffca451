"""Bytes of version 2 of the journal, written from its description alone: a third author's hand.

For what the Python reader is not needed for. Nothing here is taken from mobile/storage.
"""

import hashlib
import json
import struct
import zlib
from collections.abc import Sequence
from typing import Any

FIRST_FRAME = 8192
NOTHING_BEFORE = "0" * 32


def frame(version: str, seq: int, payload: bytes) -> bytes:
    """Return a frame of any version."""
    start = b"\xf5SJ" + version.encode() + struct.pack("<IQ", len(payload), seq)
    payload_crc = struct.pack("<I", zlib.crc32(payload))
    return start + struct.pack("<I", zlib.crc32(start + payload_crc)) + payload_crc + payload


def after(before: bytes | None) -> str:
    """Return what a frame says of the one before it."""
    return hashlib.sha256(before).hexdigest()[:32] if before else NOTHING_BEFORE


def linked(seq: int, before: bytes | None, ops: Sequence[Any], **more: Any) -> bytes:
    """Return a frame of version 2."""
    payload = json.dumps({"after": after(before), "ops": list(ops), **more}, separators=(",", ":"))
    return frame("2", seq, payload.encode())


def put(record: dict[str, Any]) -> list[Any]:
    return ["put", "records", record["id"], record]


def head(*, epoch: int = 0, version: int = 2, seq: int = 0, device: str = "device0001") -> bytes:
    """Return the bytes of a journal up to its first frame."""
    body = struct.pack(
        "<4sHHQ16sIIQQI",
        b"\xf5SH\0",
        *(version, 2, seq, device.encode(), 0, epoch, FIRST_FRAME, 0, 0),
    )
    return (body + struct.pack("<I", zlib.crc32(body))).ljust(FIRST_FRAME, b"\0")


def journal(frames: Sequence[bytes], **said: Any) -> bytes:
    return head(**said) + b"".join(frames)


def chain(records: Sequence[dict[str, Any]], *, first: int = 1, before: bytes | None = None):
    """Return one frame for each record, each linked to the one before."""
    frames: list[bytes] = []
    for seq, record in enumerate(records, start=first):
        before = linked(seq, before, [put(record)])
        frames.append(before)
    return frames


def marks(
    frames: Sequence[bytes], upto: int, *, epoch: int = 0, slot_seq: int = 1, lineage: int = 0
) -> bytes:
    """Return a file of marks that says: frame number `upto` (from 1) was acknowledged."""
    start = FIRST_FRAME + sum(map(len, frames[: upto - 1]))
    end = start + len(frames[upto - 1])
    digest = hashlib.sha256(frames[upto - 1]).digest()[:12]
    body = struct.pack(
        "<4sHHQIQQQ12sI", b"\xf5SM\0", 1, 0, slot_seq, epoch, upto, start, end, digest, lineage
    )
    slot = body + struct.pack("<I", zlib.crc32(body))
    return bytes(4096) + slot if slot_seq % 2 else slot.ljust(4096 + 64, b"\0")
