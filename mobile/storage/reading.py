"""Reading a journal and its snapshot: what is sound, what is damaged, what is missing."""

from collections.abc import Iterable
from dataclasses import dataclass, replace

from mobile.storage.backend import ByteFile, Folder
from mobile.storage.batch import Assembled, Gap, assemble
from mobile.storage.errors import DataNewerThanApp, StorageFailed
from mobile.storage.frames import Position, Scan, Span, scan
from mobile.storage.header import DATA_START, FORMAT_VERSION, Header, valid_slots
from mobile.storage.journal import newer_than_app
from mobile.storage.problems import Problem
from mobile.storage.slots import Mark
from mobile.storage.snapshot import (
    Basis,
    Snapshot,
    basis_of,
    generation_of,
    read_snapshot,
    snapshots_left,
    why_not,
)


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
    snapshots_lost: tuple[Problem, ...]  # what is wrong with those that could not be used
    left_over: tuple[str, ...]  # files of snapshots, where neither they nor a header can be read
    scanned: Scan
    assembled: Assembled
    mark: Mark | None  # what was acknowledged, where that is known

    @property
    def damaged(self) -> list[Span]:
        """Damage with something sound behind it."""
        spans = [*self.scanned.damaged, *self.assembled.unreadable]
        return sorted(
            (span for span in spans if span.start < self.assembled.at.end),
            key=lambda span: span.start,
        )

    @property
    def tail(self) -> Span | None:
        """What follows the last kept frame."""
        end = self.position.end
        return Span(start=end, end=self.size) if end < self.size else None

    @property
    def position(self) -> Position:
        """The last kept frame; no number that was acknowledged is given again."""
        at = self.assembled.at
        skipped = max(0, self.mark.at.seq - at.seq) if self.mark else 0
        return replace(at, end=max(at.end, DATA_START), skipped=skipped)

    @property
    def gaps(self) -> tuple[Gap, ...]:
        """Frames that are missing by the numbers, the acknowledged ones at the end included."""
        at = self.position
        at_end = (Gap(at.seq + 1, at.seq + at.skipped, has_bytes=False),) if at.skipped else ()
        return (*self.assembled.gaps, *at_end)

    @property
    def broken(self) -> list[int]:
        """Frames with another one before them than when they were acknowledged."""
        broken = list(self.assembled.broken)
        mark, frames = self.mark, self.scanned.frames
        if mark and any(f.seq == mark.at.seq and not mark.is_of(f.digest) for f in frames):
            broken.append(mark.at.seq)
        return broken

    @property
    def name(self) -> str:
        """The journal's lineage and epoch: numbers of frames mean something within them only."""
        known = self.header or self.mark
        return f"{known.lineage:08x}-{known.epoch}" if known else "0"

    @property
    def size(self) -> int:
        """Length of the journal in bytes, what is missing of it included."""
        return max(len(self.head), self.origin + len(self.data) if self.data else 0)

    def bytes_of(self, span: Span) -> bytes:
        """Return the bytes of a place."""
        return self.data[span.start - self.origin : span.end - self.origin]

    @property
    def is_unreadable(self) -> bool:
        """Whether there is more than a torn start, and nothing of it can be read."""
        nothing = self.header is None and self.basis is None and not self.scanned.frames
        return nothing and (self.size > DATA_START or bool(self.left_over))

    def newer(self, schema_version: int) -> DataNewerThanApp | None:
        """Return the error when a newer app wrote any of it."""
        found = newer_than_app(self.header, schema_version) if self.header else None
        if found is None and self.assembled.newer:
            return DataNewerThanApp(found=FORMAT_VERSION + 1, known=FORMAT_VERSION, what="frame")
        return found


async def read_journal(folder: Folder, file: ByteFile, mark: Mark | None = None) -> Found:
    """Read everything; `mark` tells what was acknowledged. Raises StorageFailed."""
    size = await file.size()
    head = await _read_from(file, 0, min(size, DATA_START))
    # A journal is born with its first blocks whole: a shorter one was cut, and not by us.
    slots = valid_slots(head) if size >= DATA_START else ()
    named = tuple(basis_of(slot) for slot in slots if slot.format_version <= FORMAT_VERSION)
    snapshot, basis, lost = await _newest_snapshot(folder, named)
    left_over: tuple[str, ...] = ()
    if not slots:  # the header is gone: a snapshot may be all there is
        snapshot, basis, _ = await _newest_snapshot(folder, await snapshots_left(folder))
        left_over = () if basis else await _snapshot_files(folder)
    start = basis.replay_from if basis else DATA_START
    data = await _read_from(file, start, max(start, size))
    scanned = scan(data, start, origin=start)
    before = Position(seq=basis.replay_after_seq if basis else 0, end=start, digest=snapshot.after)
    header = slots[0] if slots else None
    return Found(
        head=head,
        data=data,
        header=header,
        basis=basis,
        origin=start,
        missing=max(0, start - size) if basis else 0,
        snapshot=snapshot,
        snapshots_lost=lost,
        left_over=left_over,
        scanned=scanned,
        assembled=assemble(scanned.frames, after=before),
        # After an erasing the mark of before may be there still: it says nothing of this journal.
        mark=mark if mark and _is_of(mark, header) else None,
    )


def _is_of(mark: Mark, header: Header | None) -> bool:
    return header is None or (mark.lineage, mark.epoch) == (header.lineage, header.epoch)


async def _read_from(file: ByteFile, start: int, end: int) -> bytes:
    data = await file.read(start, end - start)
    if len(data) != end - start:
        raise StorageFailed(operation="read")
    return data


async def _newest_snapshot(
    folder: Folder, named: Iterable[Basis]
) -> tuple[Snapshot, Basis | None, tuple[Problem, ...]]:
    """Return the first sound one of these snapshots, and what is wrong with those before it."""
    lost: dict[int, Problem] = {}
    for basis in named:
        if not basis.generation:
            continue
        found = await read_snapshot(folder, basis)
        if found is not None:
            return found, basis, tuple(lost.values())
        if basis.generation not in lost:
            lost[basis.generation] = await why_not(folder, basis.generation)
    return Snapshot(), None, tuple(lost.values())


async def _snapshot_files(folder: Folder) -> tuple[str, ...]:
    return tuple(name for name in await folder.names() if generation_of(name))
