"""The two header slots at the start of a journal, version 2.

Slot A stands at byte 0, slot B at byte 4096, the first frame at byte 8192: three blocks, so that a
torn write of one slot cannot reach the other. A change writes the slot that is *not* in force and
flushes; the valid slot with the higher sequence number counts. All numbers are little-endian.

======  =====  ==============================================================================
offset  bytes  content
======  =====  ==============================================================================
0       4      magic: F5 'S' 'H' and 0
4       2      version of the journal's format
6       2      version of the records' schema that last wrote here (migrations.py)
8       8      sequence number of the header
16      16     device id, ASCII, padded with zeros
32      4      generation of the snapshot in force; 0: none, replay all frames
36      4      epoch: how often everything or a system was erased; 0 in version 1
40      8      byte where replay starts
48      8      sequence number of the last frame that the snapshot holds; 0: none
56      4      lineage: names the journal from its birth on; 0 in version 1
60      4      CRC-32 of bytes 0-59
======  =====  ==============================================================================
"""

import re
import struct
import zlib
from dataclasses import dataclass

FORMAT_VERSION = 2
SLOT_BYTES = 64
SLOT_AT = (0, 4096)
DATA_START = 8192

_MAGIC = b"\xf5SH\x00"
_SLOT = struct.Struct("<4sHHQ16sIIQQI")
_CRC = struct.Struct("<I")
_DEVICE = re.compile(r"[a-z0-9]{8,16}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Header:
    """What one slot says."""

    format_version: int = FORMAT_VERSION
    schema_version: int
    seq: int
    device: str
    snapshot_generation: int = 0
    replay_from: int = DATA_START
    replay_after_seq: int = 0
    epoch: int = 0
    lineage: int = 0

    def __post_init__(self) -> None:
        """Refuse a device id that the slot, or a record's id, could not hold."""
        if not _DEVICE.fullmatch(self.device):
            raise ValueError("a device id is 8 to 16 of a-z and 0-9")


def lineage_of(device: str) -> int:
    """Return the name of a journal that a device begins; never 0."""
    return zlib.crc32(device.encode("ascii")) or 1


def encode_slot(header: Header) -> bytes:
    """Return the 64 bytes of a slot."""
    body = _SLOT.pack(
        _MAGIC,
        header.format_version,
        header.schema_version,
        header.seq,
        header.device.encode("ascii"),
        header.snapshot_generation,
        header.epoch,
        header.replay_from,
        header.replay_after_seq,
        header.lineage,
    )
    return body + _CRC.pack(zlib.crc32(body))


def decode_slot(data: bytes) -> Header | None:
    """Return what a slot says, or None when it is empty or damaged."""
    if len(data) != SLOT_BYTES or data[:4] != _MAGIC:
        return None
    body = data[:-4]
    if zlib.crc32(body) != _CRC.unpack(data[-4:])[0]:
        return None
    _, form, schema, seq, device, generation, epoch, replay_from, after, lineage = _SLOT.unpack(
        body
    )
    try:
        return Header(
            format_version=form,
            schema_version=schema,
            seq=seq,
            device=device.rstrip(b"\0").decode("ascii"),
            snapshot_generation=generation,
            replay_from=replay_from,
            replay_after_seq=after,
            epoch=epoch,
            lineage=lineage,
        )
    except ValueError:
        return None


def choose(data: bytes) -> Header | None:
    """Return the header in force among the first bytes of a journal, or None."""
    return next(iter(valid_slots(data)), None)


def valid_slots(data: bytes) -> tuple[Header, ...]:
    """Return the sound slots among the first bytes of a journal, the one in force first."""
    slots = (decode_slot(data[at : at + SLOT_BYTES]) for at in SLOT_AT)
    return tuple(sorted(filter(None, slots), key=lambda slot: slot.seq, reverse=True))


def first_block(header: Header) -> bytes:
    """Return the bytes of a new journal, up to its first frame."""
    return encode_slot(header).ljust(DATA_START, b"\0")


def slot_place(header: Header) -> int:
    """Return the byte where a header goes: even numbers in slot A, odd ones in slot B."""
    return SLOT_AT[header.seq % 2]
