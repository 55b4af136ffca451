"""Opening a journal: replay what is sound, keep a copy of what is not, repair, report."""

from collections.abc import Iterable
from dataclasses import dataclass, field

from mobile.storage.backend import ByteFile, Folder, keep_copy, read_whole
from mobile.storage.batch import Assembled, Op, assemble
from mobile.storage.errors import (
    AppError,
    DataDamaged,
    DataNewerThanApp,
    StorageFailed,
    StoreBusy,
)
from mobile.storage.frames import Scan, Span, scan
from mobile.storage.header import DATA_START, FORMAT_VERSION, Header, choose, first_block
from mobile.storage.journal import (
    JOURNAL_NAME,
    Journal,
    NewDeviceId,
    Position,
    newer_than_app,
    write_all,
)
from mobile.storage.problems import Problem


@dataclass(frozen=True, slots=True, kw_only=True)
class Opened:
    """A journal, the changes it holds oldest first, and what was found wrong with it."""

    journal: Journal
    ops: tuple[Op, ...]
    problems: tuple[Problem, ...]


@dataclass(slots=True, kw_only=True)
class _Contents:
    """The bytes of a journal and what they amount to."""

    data: bytes
    header: Header | None
    scanned: Scan
    assembled: Assembled

    @property
    def damaged(self) -> list[Span]:
        """Damage with something sound behind it."""
        spans = [*self.scanned.damaged, *self.assembled.unreadable]
        return sorted(
            (span for span in spans if span.start < self.assembled.end),
            key=lambda span: span.start,
        )

    @property
    def tail(self) -> Span | None:
        """What follows the last kept frame."""
        end = max(self.assembled.end, DATA_START)
        return Span(start=end, end=len(self.data)) if end < len(self.data) else None

    @property
    def is_unreadable(self) -> bool:
        """Whether the file holds more than a torn start, and nothing of it can be read."""
        return self.header is None and not self.scanned.frames and len(self.data) > DATA_START


@dataclass(slots=True, kw_only=True)
class _Repair:
    """The work of one opening."""

    folder: Folder
    schema_version: int
    new_device_id: NewDeviceId
    problems: list[Problem] = field(default_factory=list[Problem])
    new_damage: bool = False

    async def run(self, file: ByteFile, contents: _Contents) -> Header:
        """Keep copies of all damage, cut a torn tail, and leave a header of ours in force."""
        for span in contents.damaged:
            await self._quarantine(contents.data, span, "journal_damaged")
        if contents.tail:
            await self._quarantine(contents.data, contents.tail, "journal_tail_torn")
            await file.truncate(contents.tail.start)
            await file.flush()
        if contents.header is None:
            return await self._start_header(file, contents)
        return await self._renew_header(file, contents.header)

    async def _quarantine(self, data: bytes, span: Span, code: str) -> None:
        name, known = await keep_copy(self.folder, span.start, data[span.start : span.end])
        self.problems.append(Problem(code=code, detail=name, known=known))
        self.new_damage = self.new_damage or not known

    async def _start_header(self, file: ByteFile, contents: _Contents) -> Header:
        if contents.data:
            head = Span(start=0, end=min(len(contents.data), DATA_START))
            await self._quarantine(contents.data, head, "journal_header_damaged")
        header = Header(schema_version=self.schema_version, seq=0, device=self.new_device_id())
        await write_all(file, 0, first_block(header))
        await file.flush()
        return header

    async def _renew_header(self, file: ByteFile, header: Header) -> Header:
        """After new damage an id may have been lost that a backup knows: go on as a new device."""
        if not self.new_damage and header.schema_version == self.schema_version:
            return header
        journal = Journal(file, header, Position(end=DATA_START, next_seq=1))
        device = self.new_device_id() if self.new_damage else header.device
        await journal.replace_header(device=device, schema_version=self.schema_version)
        return journal.header


async def open_journal(
    folder: Folder,
    *,
    schema_version: int,
    new_device_id: NewDeviceId,
    discard_unreadable: bool = False,
) -> Opened:
    """Open the journal of a folder, creating it when there is none.

    It opens for reading only, with the reason in `journal.blocked`, when another writer has it,
    when a newer app wrote it, or when a repair could not be made.

    Parameters
    ----------
    folder : Folder
        Where the journal and the quarantined copies are.
    schema_version : int
        The records' schema this app knows.
    new_device_id : callable
        Draws a random device id.
    discard_unreadable : bool
        The person chose to begin anew although a store exists of which nothing can be read; its
        bytes are still kept as a copy.

    Raises
    ------
    StorageFailed
        The file exists and cannot be read.
    DataDamaged
        It was read, and nothing in it makes sense.
    """
    blocked: AppError | None = None
    try:
        file = await folder.open(JOURNAL_NAME, writable=True)
    except StoreBusy as busy:
        blocked = busy
        file = await folder.open(JOURNAL_NAME, writable=False)
    try:
        contents = await _read(file)
        if not discard_unreadable:
            _check_readable(contents)
        blocked = blocked or _newer(contents, schema_version)
        repair = _Repair(folder=folder, schema_version=schema_version, new_device_id=new_device_id)
        header = contents.header
        if blocked is None:
            header, blocked = await _try_repair(repair, file, contents)
        if blocked is not None:
            await file.close()
    except BaseException:
        await file.close()
        raise
    return _opened(contents, header, blocked, repair, file)


async def _read(file: ByteFile) -> _Contents:
    data = await read_whole(file)
    if len(data) != await file.size():
        raise StorageFailed(operation="read")
    # A journal is born with its first blocks whole: a shorter one was cut, and not by us.
    header = choose(data) if len(data) >= DATA_START else None
    start = header.replay_from if header else DATA_START
    after_seq = header.replay_after_seq if header else 0
    scanned = scan(data, start)
    assembled = assemble(scanned.frames, start=start, after_seq=after_seq)
    return _Contents(data=data, header=header, scanned=scanned, assembled=assembled)


def _check_readable(contents: _Contents) -> None:
    if contents.is_unreadable:
        found = Problem(code="journal_unreadable", detail=f"{len(contents.data)} bytes")
        raise DataDamaged((found,), JOURNAL_NAME)


def _newer(contents: _Contents, schema_version: int) -> DataNewerThanApp | None:
    found = newer_than_app(contents.header, schema_version) if contents.header else None
    if found is None and contents.assembled.newer:
        return DataNewerThanApp(found=FORMAT_VERSION + 1, known=FORMAT_VERSION, what="frame")
    return found


async def _try_repair(
    repair: _Repair, file: ByteFile, contents: _Contents
) -> tuple[Header | None, AppError | None]:
    try:
        return await repair.run(file, contents), None
    except AppError as failure:
        repair.problems.append(Problem(code="journal_repair_failed", detail=str(failure)))
        return contents.header, failure


def _opened(
    contents: _Contents,
    header: Header | None,
    blocked: AppError | None,
    repair: _Repair,
    file: ByteFile,
) -> Opened:
    assembled = contents.assembled
    header = header or Header(
        schema_version=repair.schema_version, seq=0, device=repair.new_device_id()
    )
    position = Position(end=max(assembled.end, DATA_START), next_seq=assembled.last_seq + 1)
    journal = Journal(None if blocked else file, header, position, blocked)
    return Opened(
        journal=journal,
        ops=tuple(assembled.ops),
        problems=(
            *repair.problems,
            *_lost(assembled, known=not repair.new_damage),
            *_unrepaired(contents, blocked),
        ),
    )


def _lost(assembled: Assembled, *, known: bool) -> Iterable[Problem]:
    if assembled.lost:
        yield Problem(code="journal_commits_lost", detail=str(assembled.lost), known=known)


def _unrepaired(contents: _Contents, blocked: AppError | None) -> Iterable[Problem]:
    """Damage in a journal that may only be read; its tail may be another's write under way."""
    if blocked is None:
        return
    for span in contents.damaged:
        yield Problem(code="journal_damaged", detail=f"bytes {span.start} to {span.end}")
