"""Opening a journal: replay what is sound, keep a copy of what is not, repair, report."""

from collections.abc import Iterable
from dataclasses import dataclass, field

from mobile.storage.backend import ByteFile, Folder, keep_copy, write_all
from mobile.storage.batch import Assembled, Op, assemble
from mobile.storage.errors import (
    AppError,
    DataDamaged,
    DataNewerThanApp,
    StorageFailed,
    StoreBusy,
)
from mobile.storage.frames import Scan, Span, scan
from mobile.storage.header import DATA_START, FORMAT_VERSION, Header, first_block, valid_slots
from mobile.storage.journal import (
    JOURNAL_NAME,
    Journal,
    NewDeviceId,
    Position,
    newer_than_app,
)
from mobile.storage.problems import Problem
from mobile.storage.snapshot import Basis, Snapshot, basis_of, read_snapshot, snapshots_left


@dataclass(frozen=True, slots=True, kw_only=True)
class Opened:
    """A journal, a snapshot, the changes after it, and what was found wrong with them."""

    journal: Journal
    snapshot: Snapshot
    ops: tuple[Op, ...]
    problems: tuple[Problem, ...]


@dataclass(slots=True, kw_only=True)
class _Contents:
    """The bytes of a journal from `origin` on and what they amount to."""

    head: bytes  # the journal's first blocks, or as much of them as there is
    data: bytes
    header: Header | None
    basis: Basis | None  # of the snapshot
    origin: int
    missing: int  # bytes that a sound snapshot stands for and the journal lost
    snapshot: Snapshot
    snapshots_lost: tuple[int, ...]  # generations that could not be used
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
        return Span(start=end, end=self.size) if end < self.size else None

    @property
    def size(self) -> int:
        """Length of the journal in bytes, what is missing of it included."""
        return max(len(self.head), self.origin + len(self.data) if self.data else 0)

    def bytes_of(self, span: Span) -> bytes:
        """Return the bytes of a place."""
        return self.data[span.start - self.origin : span.end - self.origin]

    @property
    def is_unreadable(self) -> bool:
        """Whether the file holds more than a torn start, and nothing of it can be read."""
        nothing = self.header is None and self.basis is None and not self.scanned.frames
        return nothing and self.size > DATA_START


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
            await self._quarantine(contents, span, "journal_damaged")
        if contents.missing:
            self.problems.append(Problem(code="journal_cut", detail=f"{contents.missing} bytes"))
            self.new_damage = True
            await write_all(file, contents.origin - contents.missing, bytes(contents.missing))
            await file.flush()
        if contents.tail:
            await self._quarantine(contents, contents.tail, "journal_tail_torn")
            await file.truncate(contents.tail.start)
            await file.flush()
        if contents.header is None:
            return await self._start_header(file, contents)
        return await self._renew_header(file, contents.header)

    async def _quarantine(self, contents: _Contents, span: Span, code: str) -> None:
        await self._keep(span.start, contents.bytes_of(span), code)

    async def _keep(self, offset: int, data: bytes, code: str) -> None:
        name, known = await keep_copy(self.folder, offset, data)
        self.problems.append(Problem(code=code, detail=name, known=known))
        self.new_damage = self.new_damage or not known

    async def _start_header(self, file: ByteFile, contents: _Contents) -> Header:
        if contents.head:
            await self._keep(0, contents.head, "journal_header_damaged")
        basis = contents.basis or Basis(generation=0, replay_from=DATA_START, replay_after_seq=0)
        header = Header(
            schema_version=self.schema_version,
            seq=0,
            device=self.new_device_id(),
            snapshot_generation=basis.generation,
            replay_from=basis.replay_from,
            replay_after_seq=basis.replay_after_seq,
        )
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
        contents = await _read(folder, file)
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


async def _read(folder: Folder, file: ByteFile) -> _Contents:
    size = await file.size()
    head = await _read_from(file, 0, min(size, DATA_START))
    # A journal is born with its first blocks whole: a shorter one was cut, and not by us.
    slots = valid_slots(head) if size >= DATA_START else ()
    named = tuple(basis_of(slot) for slot in slots if slot.format_version <= FORMAT_VERSION)
    snapshot, basis, lost = await _newest_snapshot(folder, named)
    if not slots:  # the header is gone: a snapshot may be all there is
        snapshot, basis, _ = await _newest_snapshot(folder, await snapshots_left(folder))
    start = basis.replay_from if basis else DATA_START
    data = await _read_from(file, start, max(start, size))
    scanned = scan(data, start, origin=start)
    after_seq = basis.replay_after_seq if basis else 0
    return _Contents(
        head=head,
        data=data,
        header=slots[0] if slots else None,
        basis=basis,
        origin=start,
        missing=max(0, start - size) if basis else 0,
        snapshot=snapshot,
        snapshots_lost=lost,
        scanned=scanned,
        assembled=assemble(scanned.frames, start=start, after_seq=after_seq),
    )


async def _read_from(file: ByteFile, start: int, end: int) -> bytes:
    data = await file.read(start, end - start)
    if len(data) != end - start:
        raise StorageFailed(operation="read")
    return data


async def _newest_snapshot(
    folder: Folder, named: Iterable[Basis]
) -> tuple[Snapshot, Basis | None, tuple[int, ...]]:
    """Return the first sound one of these snapshots, and the unsound ones before it."""
    lost: list[int] = []
    for basis in named:
        if not basis.generation:
            continue
        found = await read_snapshot(folder, basis)
        if found is not None:
            return found, basis, tuple(lost)
        if basis.generation not in lost:
            lost.append(basis.generation)
    return Snapshot(), None, tuple(lost)


def _check_readable(contents: _Contents) -> None:
    if contents.is_unreadable:
        found = Problem(code="journal_unreadable", detail=f"{contents.size} bytes")
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
        snapshot=contents.snapshot,
        ops=tuple(assembled.ops),
        problems=(
            *repair.problems,
            *_lost(assembled, known=not repair.new_damage),
            *_unrepaired(contents, blocked),
            *_lost_snapshots(contents),
        ),
    )


def _lost(assembled: Assembled, *, known: bool) -> Iterable[Problem]:
    if assembled.lost:
        yield Problem(code="journal_commits_lost", detail=str(assembled.lost), known=known)


def _lost_snapshots(contents: _Contents) -> Iterable[Problem]:
    """All that a snapshot held is in the journal: it is told, and needs nothing."""
    for generation in contents.snapshots_lost:
        yield Problem(code="journal_snapshot_damaged", detail=str(generation))


def _unrepaired(contents: _Contents, blocked: AppError | None) -> Iterable[Problem]:
    """Damage in a journal that may only be read; its tail may be another's write under way."""
    if blocked is None:
        return
    for span in contents.damaged:
        yield Problem(code="journal_damaged", detail=f"bytes {span.start} to {span.end}")
