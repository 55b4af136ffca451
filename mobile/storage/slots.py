"""A small value that is written over and over: two slots in one file, the newer sound one counts.

A write goes to the slot that does not count and is flushed, so that a power cut leaves one of the
two. All numbers are little-endian; `size` is the length of a slot, 4096 at most.

========  ======  ============================================================================
offset    bytes   content
========  ======  ============================================================================
0         4       magic: F5 'S', a letter for what it is, 0
4         2       version, 1
6         2       reserved, 0
8         8       sequence number of the slot
16        size-20 the value, padded with zeros
size-4    4       CRC-32 of all bytes before
========  ======  ============================================================================

Slot A stands at byte 0, slot B at byte 4096.
"""

import struct
import zlib
from dataclasses import dataclass
from typing import Final

from mobile.storage.backend import Folder, read_whole, write_all
from mobile.storage.frames import Position

SLOT_AT: Final = (0, 4096)
_VERSION: Final = 1
_HEAD: Final = struct.Struct("<4sHHQ")
_CRC: Final = struct.Struct("<I")


class TwoSlots:
    """One such file; one writer at a time."""

    def __init__(self, folder: Folder, name: str, letter: str, size: int) -> None:
        self._folder = folder
        self._name = name
        self._magic = b"\xf5S" + letter.encode() + b"\0"
        self._size = size
        self._seq: int | None = None  # of the slot in force; None until it is known

    async def read(self) -> bytes | None:
        """Return the value in force with its padding; None where there is none, or none sound.

        Raises
        ------
        StorageFailed
            It cannot be read, and nothing is known of it.
        """
        self._seq = None
        data = b""
        if self._name in await self._folder.names():
            file = await self._folder.open(self._name, writable=False)
            try:
                data = await read_whole(file)
            finally:
                await file.close()
        slots = [self._decode(data[at : at + self._size]) for at in SLOT_AT]
        self._seq, value = max((slot for slot in slots if slot), default=(0, None))
        return value

    async def write(self, value: bytes) -> None:
        """Put a value in force.

        Raises
        ------
        StorageFull, StorageFailed, StoreBusy
            The one before is still in force, or both are there and either may count.
        ValueError
            It is longer than a slot.
        """
        if self._seq is None:
            await self.read()
        room = self._size - _HEAD.size - _CRC.size
        if len(value) > room:
            raise ValueError(f"{len(value)} bytes in a slot of {room}")
        seq = (self._seq or 0) + 1
        body = _HEAD.pack(self._magic, _VERSION, 0, seq) + value.ljust(room, b"\0")
        self._seq = None  # either slot may count until this is known to be on the medium
        file = await self._folder.open(self._name, writable=True)
        try:
            await write_all(file, SLOT_AT[seq % 2], body + _CRC.pack(zlib.crc32(body)))
            await file.flush()
        finally:
            await file.close()
        self._seq = seq

    def _decode(self, slot: bytes) -> tuple[int, bytes] | None:
        if len(slot) != self._size or slot[:4] != self._magic:
            return None
        if zlib.crc32(slot[: -_CRC.size]) != _CRC.unpack(slot[-_CRC.size :])[0]:
            return None
        _, version, _, seq = _HEAD.unpack_from(slot)
        return (seq, slot[_HEAD.size : -_CRC.size]) if version == _VERSION else None


ACKNOWLEDGED: Final = "acknowledged"
SECOND_COPY_MARK: Final = "second-copy-mark"
_DIGEST_BYTES: Final = 12
_MARK: Final = struct.Struct(f"<IQQQ{_DIGEST_BYTES}sI")
_MARK_SLOT: Final = 64


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """How far a journal, or a copy of one, is known to be on the medium.

    Attributes
    ----------
    lineage, epoch : int
        Of the journal that it speaks of.
    at : Position
        The last frame that was acknowledged, or copied; of `seq` 0: none. Its digest is cut.
    """

    lineage: int
    epoch: int
    at: Position

    def is_of(self, digest: bytes) -> bool:
        """Whether a frame of this digest is the one that it names."""
        return digest[:_DIGEST_BYTES] == self.at.digest[:_DIGEST_BYTES]


class MarkFile:
    """A mark on the medium: its slot holds epoch, seq, start, end, digest and lineage.

    They are unsigned numbers of 4, 8, 8 and 8 bytes from byte 16 on, the first 12 bytes of
    `frames.digest_of`, and 4 bytes that name the journal.
    """

    def __init__(self, folder: Folder, name: str) -> None:
        self._slots = TwoSlots(folder, name, "M", _MARK_SLOT)

    async def read(self) -> Mark | None:
        """Return what it says, None where it says nothing; raises StorageFailed."""
        value = await self._slots.read()
        if value is None:
            return None
        epoch, seq, start, end, digest, lineage = _MARK.unpack(value)
        at = Position(seq=seq, start=start, end=end, digest=digest)
        return Mark(lineage=lineage, epoch=epoch, at=at)

    async def write(self, mark: Mark) -> None:
        """Put a mark in force; raises as `TwoSlots.write`."""
        at = mark.at
        digest = at.digest[:_DIGEST_BYTES]
        await self._slots.write(
            _MARK.pack(mark.epoch, at.seq, at.start, at.end, digest, mark.lineage)
        )
