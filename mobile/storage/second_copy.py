"""A second copy of the journal in the other store of this device, behind the acknowledgement.

The file `second-copy` holds the bytes of the journal from byte 0 on, and `second-copy-mark` how far
they go (slots.py). Each frame carries the digest of the one before, so when the journal still has
the last frame that was copied, it has all before it: comparing one frame compares both stores.

What is in the copy was acknowledged. It heals a journal that lost something (healing.py), but never
one of a later epoch: what was erased does not come back. A copy that was not looked at since the
store was opened is never written over, since it may be all that is left.
"""

from dataclasses import dataclass
from typing import Final

from mobile.storage.backend import ByteFile, Folder, read_whole, write_all
from mobile.storage.batch import Assembled, assemble
from mobile.storage.errors import AppError
from mobile.storage.frames import Frame, Position, digest_of, read_frame, scan
from mobile.storage.header import DATA_START, Header, choose
from mobile.storage.journal import Journal
from mobile.storage.slots import SECOND_COPY_MARK, Mark, MarkFile
from mobile.storage.snapshot import Pause

SECOND_COPY: Final = "second-copy"
CHUNK_BYTES: Final = 1 << 18


@dataclass(frozen=True, slots=True, kw_only=True)
class CopyContents:
    """What a second copy amounts to.

    Attributes
    ----------
    lineage, epoch : int
        Of the journal that it is a copy of.
    counts : bool
        Whether there is anything in it, and it was not cleared for an erasing.
    is_whole : bool
        Every byte up to where its mark says belongs to a sound frame.
    """

    found: Assembled
    frames: tuple[Frame, ...]
    lineage: int
    epoch: int
    counts: bool
    is_whole: bool

    def has(self, frame: Position) -> bool:
        """Whether it has a frame of the journal, by number and digest."""
        return frame.seq == 0 or any(
            each.seq == frame.seq and each.digest[: len(frame.digest)] == frame.digest
            for each in self.frames
        )


class SecondCopy:
    """The copy in one folder; one writer at a time, the one that has the journal."""

    def __init__(self, folder: Folder) -> None:
        self.folder = folder
        self.mark: Mark | None = None
        self.failed = ""  # why it could not be brought up last time
        self._mark_file = MarkFile(folder, SECOND_COPY_MARK)
        self._follows = False  # it is the beginning of the journal
        self._is_left_alone = False
        self._head_seq = -1  # of the journal's header that it holds
        self._file: ByteFile | None = None  # kept open: to open it again costs with its length

    @property
    def kind(self) -> str:
        """Which backend holds it."""
        return self.folder.kind

    async def load(self) -> None:
        """Read how far it goes; where that cannot be read, it is left alone."""
        try:
            self.mark = await self._mark_file.read()
        except AppError as error:
            self.leave_alone(str(error))

    async def contents(self) -> CopyContents:
        """Read all of it; raises StorageFailed."""
        names = await self.folder.names()
        data = await self._whole() if SECOND_COPY in names else b""
        scanned = scan(data[DATA_START:], DATA_START, origin=DATA_START)
        found = assemble(scanned.frames, after=Position(end=DATA_START))
        mark = self.mark
        wanted = mark.at.end if mark and mark.at.seq else DATA_START
        lineage, epoch = self._of(choose(data[:DATA_START]))
        # Cleared under the next epoch, and its bytes were not emptied: nothing of it counts.
        is_cleared = mark is not None and not mark.at.seq and epoch < mark.epoch
        return CopyContents(
            found=found,
            frames=scanned.frames,
            lineage=lineage,
            epoch=epoch,
            counts=bool(scanned.frames) and not is_cleared,
            is_whole=not (scanned.damaged or found.unreadable or found.newer)
            and found.at.end >= wanted,
        )

    async def compare(self, journal: Journal) -> bool:
        """Whether the copy is the beginning of the journal, by its last frame; raises nothing."""
        mark, header = self.mark, journal.header
        self._follows = False
        if mark is None or (mark.lineage, mark.epoch) != (header.lineage, header.epoch):
            return False
        if not mark.at.seq or mark.at.end > journal.position.end:
            return False
        try:
            last = await journal.read(mark.at.start, mark.at.end - mark.at.start)
        except AppError as error:
            print(f"second copy: {error}")  # for developers
            return False
        frame = read_frame(last, 0)
        self._follows = (
            frame is not None and frame.seq == mark.at.seq and mark.is_of(digest_of(last))
        )
        return self._follows

    def begin_anew(self) -> None:
        """Copy all of the journal at the next idle moment: what is here is damaged."""
        self._follows = False

    def leave_alone(self, reason: str) -> None:
        """Write nothing to it until the store is opened again: it may be all that is left."""
        self.failed = reason
        self._is_left_alone = True

    async def bring_up(self, journal: Journal, pause: Pause) -> None:
        """Copy what the journal has and the copy has not; all of it where they do not agree.

        `pause` comes between its parts. What was copied counts only once the mark says so; a
        failure on the way leaves what counted before.

        Raises
        ------
        StorageFull, StorageFailed, StoreBusy
            It is not brought up; it goes as far as its mark says.
        """
        header, position = journal.header, journal.position
        wanted = Mark(lineage=header.lineage, epoch=header.epoch, at=position)
        is_up = self._follows and self.mark == wanted and self._head_seq == header.seq
        if self._is_left_alone or is_up:
            return
        start = self.mark.at.end if self._follows and self.mark else 0
        try:
            if not start:
                await self._write_mark(replace_at(wanted, Position(end=0)))
            file = await self._opened()
            await file.truncate(start)
            if not start or self._head_seq != header.seq:
                await _copy(journal, file, 0, DATA_START, pause)
            await _copy(journal, file, max(start, DATA_START), position.end, pause)
            await file.flush()
            await self._write_mark(wanted)
        except BaseException:
            await self.close()
            raise
        self._follows, self._head_seq, self.failed = True, header.seq, ""

    async def clear(self, lineage: int, epoch: int) -> None:
        """Let nothing of it count from now on, then empty it: a new epoch begins.

        Raises
        ------
        StorageFull, StorageFailed, StoreBusy
            It may still hold what it held.
        """
        self._follows = False
        await self._write_mark(Mark(lineage=lineage, epoch=epoch, at=Position(end=0)))
        if SECOND_COPY in await self.folder.names():
            file = await self._opened()
            await file.truncate(0)
            await file.flush()
        self._is_left_alone = False

    async def close(self) -> None:
        """Let the file go; raises nothing."""
        file, self._file = self._file, None
        if file is None:
            return
        try:
            await file.close()
        except AppError as error:
            print(f"second copy: {error}")  # for developers

    def _of(self, header: Header | None) -> tuple[int, int]:
        """Return lineage and epoch of its bytes: by their own header, else by the mark."""
        if header is not None:
            return header.lineage, header.epoch
        return (self.mark.lineage, self.mark.epoch) if self.mark else (0, 0)

    async def _opened(self) -> ByteFile:
        self._file = self._file or await self.folder.open(SECOND_COPY, writable=True)
        return self._file

    async def _write_mark(self, mark: Mark) -> None:
        await self._mark_file.write(mark)
        self.mark = mark

    async def _whole(self) -> bytes:
        file = await self.folder.open(SECOND_COPY, writable=False)
        try:
            return await read_whole(file)
        finally:
            await file.close()


def replace_at(mark: Mark, at: Position) -> Mark:
    """Return a mark of the same journal at another place."""
    return Mark(lineage=mark.lineage, epoch=mark.epoch, at=at)


async def _copy(journal: Journal, file: ByteFile, start: int, end: int, pause: Pause) -> None:
    at = start
    while at < end:
        data = await journal.read(at, min(CHUNK_BYTES, end - at))
        await write_all(file, at, data)
        at += len(data)
        await pause()
