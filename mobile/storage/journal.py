"""The journal: commits that are on the medium before they are acknowledged.

Bytes: two header slots (header.py), then frames (frames.py) of batches (batch.py). A commit writes
at the end, all of it, flushes, and only then returns. When any of that fails the file is
cut back to the last good end; when even that fails the journal takes no more. Before that, a failed
commit is tried once more on the file opened afresh: a suspension or a passing failure of the
browser must not cost the keeper an entry. All bytes of the commit are written again then.
"""

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Final

from mobile.storage.backend import ByteFile, Folder, write_all
from mobile.storage.batch import CLOSING, Op, assemble, decode_payload, encode_batch, linked
from mobile.storage.errors import (
    AppError,
    DataNewerThanApp,
    JournalStopped,
    StorageFailed,
    StorageLost,
    StoreBusy,
    StoreReadOnly,
)
from mobile.storage.frames import HEADER_BYTES, Position, digest_of, encode_frame, scan
from mobile.storage.header import (
    DATA_START,
    FORMAT_VERSION,
    Header,
    choose,
    encode_slot,
    lineage_of,
    slot_place,
)
from mobile.storage.snapshot import Basis

JOURNAL_NAME: Final = "journal"


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
        self._tried = header  # by a flush that failed, and on the medium perhaps all the same
        self._position = position
        self._blocked = blocked

    @property
    def header(self) -> Header:
        """The header in force."""
        return self._header

    @property
    def position(self) -> Position:
        """The last frame that is acknowledged."""
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
        frames = chained(payloads, self._position)
        try:
            position = await self._write_or_renew(file, frames)
        except BaseException as error:
            await self._take_back(file, error)
            raise
        self._position = position
        return tuple(op for payload in payloads for op in decode_payload(payload).ops)

    async def replace_header(
        self,
        *,
        device: str | None = None,
        schema_version: int | None = None,
        basis: Basis | None = None,
        epoch: int | None = None,
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
            snapshot_generation=basis.generation if basis else old.snapshot_generation,
            replay_from=basis.replay_from if basis else old.replay_from,
            replay_after_seq=basis.replay_after_seq if basis else old.replay_after_seq,
            epoch=old.epoch if epoch is None else epoch,
            lineage=old.lineage or lineage_of(old.device),
        )
        self._tried = header
        await write_all(file, slot_place(header), encode_slot(header))
        await file.flush()
        self._header = header

    async def block(self, reason: AppError) -> None:
        """Take no more writes, for a reason found in the records, and let the file go."""
        self._blocked = self._blocked or reason
        await self.close()

    async def news(self, folder: Folder) -> tuple[Op, ...]:
        """Return what another window has added since, and stand behind it.

        Raises
        ------
        StorageFailed
            It cannot be read, or what is there does not follow on what is known here.
        """
        file = await folder.open(JOURNAL_NAME, writable=False)
        try:
            size, end = await file.size(), self._position.end
            header = choose(await file.read(0, DATA_START))
            if size < end or header is None or header.device != self._header.device:
                raise StorageFailed(operation="follow", size=size, wanted=end)
            found = scan(await file.read(end, size - end), end, origin=end)
        finally:
            await file.close()
        added = assemble(found.frames, after=self._position)
        if found.damaged or added.unreadable or added.newer or added.lost:
            raise StorageFailed(operation="follow", reason="it does not follow")
        self._position = added.at
        return tuple(added.ops)

    async def read(self, at: int, count: int) -> bytes:
        """Return bytes of what is acknowledged; raises StorageFailed, also when it is closed."""
        if self._file is None:
            raise StorageFailed(operation="read", reason="closed")
        found = await self._file.read(at, min(count, self._position.end - at))
        if len(found) != count:
            raise StorageFailed(operation="read", at=at, wanted=count)
        return found

    async def close(self) -> None:
        """Release the file; nothing can be written afterwards."""
        file, self._file = self._file, None
        self._blocked = self._blocked or StoreReadOnly(reason="closed")
        if file is not None:
            await file.close()

    def _writable_file(self) -> ByteFile:
        if isinstance(self._blocked, JournalStopped):
            raise type(self._blocked)(**self._blocked.context)
        if self._blocked is not None or self._file is None:
            raise StoreReadOnly(reason=self._blocked.code if self._blocked else "closed")
        return self._file

    async def _write_or_renew(self, file: ByteFile, frames: Sequence[bytes]) -> Position:
        """Write a commit; when that fails, once more on the file opened afresh."""
        try:
            return await self._write_commit(file, frames)
        except StorageFailed as first:
            try:
                await file.renew()
            except StorageLost:
                raise
            except StorageFailed:
                raise first from None
            await self._check_ours(file, frames)
        return await self._write_commit(file, frames)

    async def _write_commit(self, file: ByteFile, frames: Sequence[bytes]) -> Position:
        if len(frames) == 1:
            return await self._write(file, frames, self._position)
        position = await self._write(file, frames[:-1], self._position)
        return await self._write(file, frames[-1:], position)

    async def _check_ours(self, file: ByteFile, frames: Sequence[bytes]) -> None:
        """Make sure that a file opened afresh is as we left it, but for the commit under way.

        Raises
        ------
        StorageLost
            What we acknowledged is not in it any more.
        StoreBusy
            Another page wrote to it meanwhile.
        """
        size, end = await file.size(), self._position.end
        if size < end:
            raise StorageLost(size=size, wanted=end)
        if choose(await file.read(0, DATA_START)) not in (self._header, self._tried):
            raise StoreBusy(file=JOURNAL_NAME)
        found = scan(await file.read(end, size - end)).frames
        ours = {frame[HEADER_BYTES:] for frame in frames}
        if any(frame.payload not in ours for frame in found):
            raise StoreBusy(file=JOURNAL_NAME)

    async def _write(self, file: ByteFile, frames: Sequence[bytes], at: Position) -> Position:
        end = at.end
        for frame in frames:
            await write_all(file, end, frame)
            end += len(frame)
        await file.flush()
        return Position(
            seq=at.next_seq + len(frames) - 1,
            start=end - len(frames[-1]),
            end=end,
            digest=digest_of(frames[-1]),
        )

    async def _take_back(self, file: ByteFile, error: BaseException) -> None:
        """Cut the file back to the last good end; stop the journal when that fails."""
        if isinstance(error, StoreBusy | StorageLost):
            self._blocked = error  # the file is not ours to cut
            await self.close()
            return
        cause = error.code if isinstance(error, AppError) else type(error).__name__
        stopped = JournalStopped(cause=cause)
        self._blocked = stopped  # until the cut is known to hold
        try:
            await file.truncate(self._position.end)
            await file.flush()
        except AppError:
            raise stopped from error
        self._blocked = None


def chained(payloads: Sequence[bytes], after: Position) -> list[bytes]:
    """Return the frames of one commit, each with the digest of the one before; several are closed.

    Raises
    ------
    ValueError
        A payload is too large for a frame.
    """
    parts = payloads if len(payloads) == 1 else (*payloads, CLOSING)
    frames: list[bytes] = []
    digest = after.digest
    for seq, payload in enumerate(parts, start=after.next_seq):
        frames.append(encode_frame(seq, linked(payload, digest)))
        digest = digest_of(frames[-1])
    return frames


def newer_than_app(header: Header, schema_version: int) -> DataNewerThanApp | None:
    """Return the error when a header was written by a newer app."""
    if header.format_version > FORMAT_VERSION:
        return DataNewerThanApp(found=header.format_version, known=FORMAT_VERSION, what="format")
    if header.schema_version > schema_version:
        return DataNewerThanApp(found=header.schema_version, known=schema_version, what="schema")
    return None


NewDeviceId = Callable[[], str]
"""Draws a random device id, 16 characters of a-z and 0-9; called for each new or damaged store."""
