"""Opening the store: the first backend that works, its journal, every record through the door."""

from collections.abc import Sequence

from mobile.storage.backend import Folder, OpenFolder
from mobile.storage.contents import RECORDS, Contents
from mobile.storage.errors import DataNewerThanApp, StorageUnavailable
from mobile.storage.journal import NewDeviceId
from mobile.storage.journal_repository import JournalRepository
from mobile.storage.opening import open_journal
from mobile.storage.problems import Problem
from mobile.storage.repository import OpenReport
from mobile.storage.restore import Door, Validate

_NUMBERS_LEFT = 10**14


async def open_repository(
    *backends: OpenFolder,
    validate: Validate,
    new_device_id: NewDeviceId,
    also_refuses: tuple[type[Exception], ...] = (),
    discard_unreadable: bool = False,
) -> JournalRepository:
    """Open the store in the first backend that works here.

    Parameters
    ----------
    *backends : callable
        Openers, best first: `opfs_folder`, `disk_folder(path)`, `memory_folder`.
    validate : callable
        Takes a record's dict and returns its canonical dict, or raises ValueError.
    new_device_id : callable
        Draws 16 random characters of a-z and 0-9 (`lambda: secrets.token_hex(8)`).
    also_refuses : tuple of exception types
        What `validate` raises beside ValueError.
    discard_unreadable : bool
        Begin anew although a store exists of which nothing can be read (the answer to
        DataDamaged); its bytes are kept as a copy.

    Raises
    ------
    StorageUnavailable
        No backend works.
    StorageFailed
        A store exists and cannot be read. It is never taken for an empty one.
    DataDamaged
        It was read, and nothing in it makes sense.
    """
    problems: list[Problem] = []
    for open_folder in backends:
        try:
            folder = await open_folder()
        except StorageUnavailable as error:
            problems.append(Problem(code="backend_unavailable", detail=str(error)))
            continue
        door = Door(validate=validate, also_refuses=also_refuses)
        return await _open_in(folder, door, new_device_id, discard_unreadable, problems)
    raise StorageUnavailable(reason="; ".join(problem.detail for problem in problems))


async def _open_in(
    folder: Folder,
    door: Door,
    new_device_id: NewDeviceId,
    discard_unreadable: bool,
    problems: Sequence[Problem],
) -> JournalRepository:
    opened = await open_journal(
        folder,
        schema_version=door.schema_version,
        new_device_id=new_device_id,
        discard_unreadable=discard_unreadable,
    )
    journal = opened.journal
    contents = Contents(door)
    contents.load(opened.ops)
    if any(problem.code == "record_newer" for problem in contents.problems):
        newer = DataNewerThanApp(found="record", known=door.schema_version, what="record")
        await journal.block(newer)
    elif contents.highest(journal.header.device) > _NUMBERS_LEFT and not journal.blocked:
        await journal.replace_header(device=new_device_id())
    report = OpenReport(
        backend=folder.kind,
        writable=journal.blocked is None,
        blocked=journal.blocked,
        records=len(contents.db.live_table(RECORDS)),
        problems=(*problems, *opened.problems, *contents.problems),
    )
    return JournalRepository(
        journal=journal,
        contents=contents,
        door=door,
        report=report,
        new_device_id=new_device_id,
    )
