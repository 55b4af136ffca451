"""The journal: commits that are on the medium before they are acknowledged.

Bytes: two header slots (header.py), then frames (frames.py) of batches (batch.py). A commit writes
at the end, checks the count, flushes, and only then returns. When any of that fails the file is
cut back to the last good end; when even that fails the journal takes no more.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Final

from mobile.storage.backend import ByteFile
from mobile.storage.batch import CLOSING, Op, decode_payload, encode_batch
from mobile.storage.errors import (
    AppError,
    DataNewerThanApp,
    JournalStopped,
    StorageFull,
    StoreReadOnly,
)
from mobile.storage.frames import encode_frame
from mobile.storage.header import (
    FORMAT_VERSION,
    Header,
    encode_slot,
    slot_place,
)

JOURNAL_NAME: Final = "journal"


@dataclass(frozen=True, slots=True, kw_only=True)
class Position:
    """Where the next frame goes and which number it bears."""

    end: int
    next_seq: int


class Journal:
    """An open journal; made by `opening.open_journal`.

    One commit at a time: the repository sees to that.
    """

    def __init__(
        self,
        file: ByteFile | None,
        header: Header,
        position: Position,
        blocked: AppError | None = None,
    ) -> None:
        self._file = file
        self._header = header
        self._position = position
        self._blocked = blocked

    @property
    def header(self) -> Header:
        """The header in force."""
        return self._header

    @property
    def position(self) -> Position:
        """The end of what is acknowledged."""
        return self._position

    @property
    def blocked(self) -> AppError | None:
        """Why nothing can be written, or None."""
        return self._blocked

    async def commit(self, ops: Sequence[Op]) -> tuple[Op, ...]:
        """Write a batch and flush it.

        Returns
        -------
        tuple of Op
            The batch as a replay of the written bytes would give it.

        Raises
        ------
        StorageFull, StorageFailed
            Nothing of the batch is kept.
        JournalStopped
            Nothing of it was acknowledged, and no more is taken until the store is reopened.
        StoreReadOnly
            The journal was opened for reading.
        ValueError
            One op is too large for a frame, or is no JSON.
        """
        file = self._writable_file()
        payloads = encode_batch(ops)
        frames = [
            encode_frame(self._position.next_seq + number, payload)
            for number, payload in enumerate(payloads)
        ]
        try:
            position = await self._write(file, frames, self._position)
            if len(frames) > 1:
                closing = encode_frame(position.next_seq, CLOSING)
                position = await self._write(file, [closing], position)
        except BaseException as error:
            await self._take_back(file, error)
            raise
        self._position = position
        return tuple(op for payload in payloads for op in decode_payload(payload).ops)

    async def replace_header(
        self, *, device: str | None = None, schema_version: int | None = None
    ) -> None:
        """Put a new header in force, in the slot that is not.

        Raises
        ------
        StorageFull, StorageFailed
            The old header stays in force.
        StoreReadOnly
            The journal was opened for reading.
        """
        file = self._writable_file()
        old = self._header
        header = replace(
            old,
            seq=old.seq + 1,
            format_version=FORMAT_VERSION,
            device=device or old.device,
            schema_version=schema_version or old.schema_version,
        )
        await write_all(file, slot_place(header), encode_slot(header))
        await file.flush()
        self._header = header

    async def block(self, reason: AppError) -> None:
        """Take no more writes, for a reason found in the records, and let the file go."""
        self._blocked = self._blocked or reason
        await self.close()

    async def close(self) -> None:
        """Release the file; nothing can be written afterwards."""
        file, self._file = self._file, None
        self._blocked = self._blocked or StoreReadOnly(reason="closed")
        if file is not None:
            await file.close()

    def _writable_file(self) -> ByteFile:
        if isinstance(self._blocked, JournalStopped):
            raise JournalStopped(**self._blocked.context)
        if self._blocked is not None or self._file is None:
            raise StoreReadOnly(reason=self._blocked.code if self._blocked else "closed")
        return self._file

    async def _write(self, file: ByteFile, frames: Sequence[bytes], at: Position) -> Position:
        end = at.end
        for frame in frames:
            await write_all(file, end, frame)
            end += len(frame)
        await file.flush()
        return Position(end=end, next_seq=at.next_seq + len(frames))

    async def _take_back(self, file: ByteFile, error: BaseException) -> None:
        """Cut the file back to the last good end; stop the journal when that fails."""
        cause = error.code if isinstance(error, AppError) else type(error).__name__
        stopped = JournalStopped(cause=cause)
        self._blocked = stopped  # until the cut is known to hold
        try:
            await file.truncate(self._position.end)
            await file.flush()
        except AppError:
            raise stopped from error
        self._blocked = None


async def write_all(file: ByteFile, at: int, data: bytes) -> None:
    """Write all of `data`; raises StorageFull when less was taken."""
    written = await file.write(at, data)
    if written != len(data):
        raise StorageFull(operation="write", wanted=len(data), written=written)


def newer_than_app(header: Header, schema_version: int) -> DataNewerThanApp | None:
    """Return the error when a header was written by a newer app."""
    if header.format_version > FORMAT_VERSION or header.snapshot_generation > 0:
        return DataNewerThanApp(found=header.format_version, known=FORMAT_VERSION, what="format")
    if header.schema_version > schema_version:
        return DataNewerThanApp(found=header.schema_version, known=schema_version, what="schema")
    return None


NewDeviceId = Callable[[], str]
"""Draws a random device id, 16 characters of a-z and 0-9; called for each new or damaged store."""
