"""Reading a journal and its snapshot: what is sound, what is damaged, what is missing."""

from collections.abc import Iterable
from dataclasses import dataclass

from mobile.storage.backend import ByteFile, Folder
from mobile.storage.batch import Assembled, assemble
from mobile.storage.errors import DataNewerThanApp, StorageFailed
from mobile.storage.frames import Scan, Span, scan
from mobile.storage.header import DATA_START, FORMAT_VERSION, Header, valid_slots
from mobile.storage.journal import newer_than_app
from mobile.storage.snapshot import Basis, Snapshot, basis_of, read_snapshot, snapshots_left


@dataclass(slots=True, kw_only=True)
class Found:
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

    def newer(self, schema_version: int) -> DataNewerThanApp | None:
        """Return the error when a newer app wrote any of it."""
        found = newer_than_app(self.header, schema_version) if self.header else None
        if found is None and self.assembled.newer:
            return DataNewerThanApp(found=FORMAT_VERSION + 1, known=FORMAT_VERSION, what="frame")
        return found


async def read_journal(folder: Folder, file: ByteFile) -> Found:
    """Read everything; raises StorageFailed."""
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
    return Found(
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
