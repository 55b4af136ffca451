"""The self-check: read everything again from the medium, and hold it against what is in memory.

It changes nothing. It looks at both header slots, every frame's checksums and numbers, every
record by the door, the snapshots, and TinyDB's tables document by document.
"""

import asyncio
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from mobile.storage.backend import Folder, read_whole
from mobile.storage.batch import Assembled, Delete, Op, Put, assemble
from mobile.storage.contents import META, RECORDS, Contents
from mobile.storage.errors import AppError
from mobile.storage.frames import Position, Scan, scan
from mobile.storage.header import DATA_START, SLOT_AT, SLOT_BYTES, decode_slot
from mobile.storage.journal import JOURNAL_NAME, Journal
from mobile.storage.problems import Problem
from mobile.storage.restore import Door, Refusal, canonical
from mobile.storage.snapshot import basis_of, read_snapshot

_AT_ONCE = 200

Tables = dict[tuple[str, str], str]
"""The canonical text of every document by its table and id."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckReport:
    """What the self-check found.

    Attributes
    ----------
    records : int
        Records that were read again and are as they were saved.
    saves : int
        Commits' frames with sound checksums.
    size_bytes : int
        Length of the journal.
    problems : tuple of Problem
        Empty when all is well.
    """

    records: int = 0
    saves: int = 0
    size_bytes: int = 0
    problems: tuple[Problem, ...] = ()


async def check_all(
    folder: Folder, journal: Journal, contents: Contents, door: Door
) -> CheckReport:
    """Check a store; nothing may be saved meanwhile. Raises nothing."""
    try:
        data = await _journal_bytes(folder)
    except AppError as error:
        return CheckReport(problems=(Problem(code="check_unreadable", detail=str(error)),))
    found = scan(data[DATA_START:], DATA_START, origin=DATA_START)
    replayed = assemble(found.frames, after=Position(end=DATA_START))
    fresh = await _replay(replayed.ops, door)
    kept = await _in_memory(contents)
    problems = [
        *_header_problems(data, journal),
        *_frame_problems(data, found, replayed, journal),
        *await _snapshot_problems(folder, journal),
        *_differences(fresh, kept, contents),
    ]
    return CheckReport(
        records=sum(fresh.get(key) == text for key, text in kept.items() if key[0] == RECORDS),
        saves=len(found.frames),
        size_bytes=len(data),
        problems=tuple(problems),
    )


async def _journal_bytes(folder: Folder) -> bytes:
    file = await folder.open(JOURNAL_NAME, writable=False)
    try:
        return await read_whole(file)
    finally:
        await file.close()


def _header_problems(data: bytes, journal: Journal) -> Iterable[Problem]:
    slots = [data[at : at + SLOT_BYTES] for at in SLOT_AT]
    decoded = [decode_slot(slot) for slot in slots]
    if journal.header not in decoded:
        yield Problem(code="check_header")
    elif any(slot.strip(b"\0") and not found for slot, found in zip(slots, decoded, strict=True)):
        yield Problem(code="check_header_copy")


def _frame_problems(
    data: bytes, found: Scan, replayed: Assembled, journal: Journal
) -> Iterable[Problem]:
    for span in (*found.damaged, *replayed.unreadable):
        if span.start < replayed.at.end:
            yield Problem(code="journal_damaged", detail=f"bytes {span.start} to {span.end}")
    if replayed.lost:
        yield Problem(code="journal_commits_lost", detail=str(replayed.lost))
    known, found_at = journal.position, replayed.at
    if (found_at.end, found_at.seq) != (known.end, known.seq) or len(data) < known.end:
        yield Problem(code="check_end", detail=f"{found_at.end} of {known.end} bytes")


async def _snapshot_problems(folder: Folder, journal: Journal) -> list[Problem]:
    basis = basis_of(journal.header)
    if not basis.generation or await read_snapshot(folder, basis) is not None:
        return []
    return [Problem(code="journal_snapshot_damaged", detail=str(basis.generation))]


def _differences(fresh: Tables, kept: Tables, contents: Contents) -> Iterable[Problem]:
    other = {key for key in fresh.keys() | kept.keys() if fresh.get(key) != kept.get(key)}
    if other:
        yield Problem(code="check_differs", detail=str(len(other)))
    if contents.count_by_time() != sum(key[0] == RECORDS for key in kept):
        yield Problem(code="check_index")


async def _replay(ops: Sequence[Op], door: Door) -> Tables:
    """Return what the journal amounts to when each of its records passes the door again."""
    tables: Tables = {}
    for number, op in enumerate(ops):
        if number % _AT_ONCE == 0:
            await asyncio.sleep(0)
        key = (op.table, op.id)
        if isinstance(op, Delete):
            tables.pop(key, None)
        elif op.table == META:
            tables[key] = canonical(op.doc)
        elif (text := _admitted(op, door)) is not None:
            tables.setdefault(key, text)
    return tables


def _admitted(op: Put, door: Door) -> str | None:
    try:
        return canonical(door.admit(op.doc))
    except Refusal:
        return None  # as at opening: kept as it is, told there


async def _in_memory(contents: Contents) -> Tables:
    tables: Tables = {}
    for number, put in enumerate(contents.puts()[0]):
        if number % _AT_ONCE == 0:
            await asyncio.sleep(0)
        tables[put.table, put.id] = canonical(put.doc)
    return tables
