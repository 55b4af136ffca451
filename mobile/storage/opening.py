"""Opening a journal: replay what is sound, keep a copy of what is not, repair, report."""

from collections.abc import Iterable
from dataclasses import dataclass

from mobile.storage.backend import ByteFile, Folder
from mobile.storage.batch import Assembled, Op
from mobile.storage.errors import AppError, DataDamaged, StoreBusy
from mobile.storage.header import DATA_START, Header
from mobile.storage.journal import JOURNAL_NAME, Journal, NewDeviceId, Position
from mobile.storage.problems import Problem
from mobile.storage.reading import Found, read_journal
from mobile.storage.repair import Repair
from mobile.storage.snapshot import Snapshot


@dataclass(frozen=True, slots=True, kw_only=True)
class Opened:
    """A journal, a snapshot, the changes after it, and what was found wrong with them."""

    journal: Journal
    snapshot: Snapshot
    ops: tuple[Op, ...]
    problems: tuple[Problem, ...]


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
        contents = await read_journal(folder, file)
        if not discard_unreadable:
            _check_readable(contents)
        blocked = blocked or contents.newer(schema_version)
        repair = Repair(folder=folder, schema_version=schema_version, new_device_id=new_device_id)
        header = contents.header
        if blocked is None:
            header, blocked = await _try_repair(repair, file, contents)
        if blocked is not None:
            await file.close()
    except BaseException:
        await file.close()
        raise
    return _opened(contents, header, blocked, repair, file)


def _check_readable(contents: Found) -> None:
    if contents.is_unreadable:
        found = Problem(code="journal_unreadable", detail=f"{contents.size} bytes")
        raise DataDamaged((found,), JOURNAL_NAME)


async def _try_repair(
    repair: Repair, file: ByteFile, contents: Found
) -> tuple[Header | None, AppError | None]:
    try:
        return await repair.run(file, contents), None
    except AppError as failure:
        repair.problems.append(Problem(code="journal_repair_failed", detail=str(failure)))
        return contents.header, failure


def _opened(
    contents: Found,
    header: Header | None,
    blocked: AppError | None,
    repair: Repair,
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


def _lost_snapshots(contents: Found) -> Iterable[Problem]:
    """All that a snapshot held is in the journal: it is told, and needs nothing."""
    for generation in contents.snapshots_lost:
        yield Problem(code="journal_snapshot_damaged", detail=str(generation))


def _unrepaired(contents: Found, blocked: AppError | None) -> Iterable[Problem]:
    """Damage in a journal that may only be read; its tail may be another's write under way."""
    if blocked is None:
        return
    for span in contents.damaged:
        yield Problem(code="journal_damaged", detail=f"bytes {span.start} to {span.end}")
