"""Opening a journal: replay what is sound, keep a copy of what is not, repair, report."""

from collections.abc import Iterable
from dataclasses import dataclass

from mobile.storage.backend import ByteFile, Folder
from mobile.storage.batch import Gap, Op
from mobile.storage.errors import AppError, DataDamaged, StoreBusy
from mobile.storage.findings import OF_THE_TAIL, findings_of, name_of, noted
from mobile.storage.frames import Position
from mobile.storage.header import Header
from mobile.storage.journal import JOURNAL_NAME, Journal, NewDeviceId
from mobile.storage.problems import Problem
from mobile.storage.reading import Found, read_journal
from mobile.storage.repair import Repair
from mobile.storage.slots import ACKNOWLEDGED, Mark, MarkFile
from mobile.storage.snapshot import Snapshot


@dataclass(frozen=True, slots=True, kw_only=True)
class Opened:
    """A journal, a snapshot, the changes after it, and what was found wrong with them.

    Attributes
    ----------
    findings : tuple of Problem
        What may have cost an acknowledged entry, now or at an earlier opening.
    needed : Position
        How far a copy must go to have all that may have been in it: its `end` counts.
    anchors : tuple of Position
        Frames that a copy must have to be one of this journal.
    gaps : tuple of Gap
        Frames that are missing.
    knows_end : bool
        Whether a header or a mark told of the journal: else nobody knows how far it went.
    """

    journal: Journal
    snapshot: Snapshot
    ops: tuple[Op, ...]
    problems: tuple[Problem, ...]
    findings: tuple[Problem, ...]
    needed: Position
    anchors: tuple[Position, ...]
    gaps: tuple[Gap, ...]
    knows_end: bool


async def open_journal(
    folder: Folder,
    *,
    schema_version: int,
    new_device_id: NewDeviceId,
    discard_unreadable: bool = False,
    hint: Mark | None = None,
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
    hint : Mark or None
        What a second copy says: its lineage and epoch where a journal's own head is gone.

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
        mark = await _mark_of(folder)
        contents = await read_journal(folder, file, mark)
        if not discard_unreadable:
            _check_readable(contents)
        blocked = blocked or contents.newer(schema_version)
        repair = Repair(
            folder=folder,
            schema_version=schema_version,
            new_device_id=new_device_id,
            hint=contents.mark or hint,
        )
        header = contents.header
        if blocked is None:
            header, blocked = await _try_repair(repair, file, contents)
        if blocked is not None:
            await file.close()
    except BaseException:
        await file.close()
        raise
    journal = _journal(contents, header, blocked, repair, file)
    standing = _standing(contents, blocked)
    return Opened(
        journal=journal,
        snapshot=contents.snapshot,
        ops=tuple(contents.assembled.ops),
        problems=(
            *repair.problems,
            *_lost(contents, known=not repair.new_damage),
            *(standing if blocked else ()),
            *contents.snapshots_lost,  # the journal has all that they held
        ),
        findings=await _findings(folder, standing),
        needed=Position(end=contents.size),
        anchors=(
            contents.position,
            *((contents.mark.at,) if contents.mark and contents.mark.at.seq else ()),
        ),
        gaps=contents.gaps,
        knows_end=contents.header is not None or contents.mark is not None,
    )


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


async def _mark_of(folder: Folder) -> Mark | None:
    try:
        return await MarkFile(folder, ACKNOWLEDGED).read()
    except AppError as error:
        print(f"mark: {error}")  # for developers; what was acknowledged is then not known
        return None


def _journal(
    contents: Found,
    header: Header | None,
    blocked: AppError | None,
    repair: Repair,
    file: ByteFile,
) -> Journal:
    header = header or Header(
        schema_version=repair.schema_version, seq=0, device=repair.new_device_id()
    )
    return Journal(None if blocked else file, header, contents.position, blocked)


def _lost(contents: Found, *, known: bool) -> Iterable[Problem]:
    lost = sum(gap.last - gap.first + 1 for gap in contents.gaps if gap.has_bytes)
    if lost:
        yield Problem(code="journal_commits_lost", detail=str(lost), known=known)


def _standing(contents: Found, blocked: AppError | None) -> tuple[Problem, ...]:
    """Return what is found; the tail of a journal that another has may be a write under way."""
    found = findings_of(contents)
    if not isinstance(blocked, StoreBusy):
        return found
    return tuple(problem for problem in found if problem.code not in OF_THE_TAIL)


async def _findings(folder: Folder, standing: tuple[Problem, ...]) -> tuple[Problem, ...]:
    """Return what was found now, and what is noted of earlier openings."""
    try:
        earlier = await noted(folder)
    except AppError as error:
        print(f"findings: {error}")  # for developers; what is found now is told
        earlier = ()
    found = {name_of(problem): problem for problem in (*standing, *earlier)}
    return tuple(found.values())
