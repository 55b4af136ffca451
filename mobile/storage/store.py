"""Opening the store: the backend to use, its journal, every record through the door."""

from mobile.storage.backend import OpenFolder
from mobile.storage.choosing import choose_folder
from mobile.storage.contents import RECORDS, Contents
from mobile.storage.errors import DataNewerThanApp
from mobile.storage.journal import Journal, NewDeviceId
from mobile.storage.journal_repository import JournalRepository
from mobile.storage.opening import Opened, open_journal
from mobile.storage.repository import OpenReport
from mobile.storage.restore import Door, Validate

_NUMBERS_LEFT = 10**14


async def open_repository(
    *backends: OpenFolder,
    validate: Validate,
    new_device_id: NewDeviceId,
    also_refuses: tuple[type[Exception], ...] = (),
    discard_unreadable: bool = False,
    checked_by: str = "",
) -> JournalRepository:
    """Open the store where records lie, or else in the first backend that works here.

    Parameters
    ----------
    *backends : callable
        Openers, best first: `opfs_folder`, `idb_folder`, `memory_folder`, or `disk_folder(path)`.
    validate : callable
        Takes a record's dict and returns its canonical dict, or raises ValueError.
    new_device_id : callable
        Draws 16 random characters of a-z and 0-9 (`lambda: secrets.token_hex(8)`).
    also_refuses : tuple of exception types
        What `validate` raises beside ValueError.
    discard_unreadable : bool
        Begin anew although a store exists of which nothing can be read (the answer to
        DataDamaged); its bytes are kept as a copy.
    checked_by : str
        Names the build whose door this is. What a snapshot of the same build holds passed it
        already and is not checked again; empty trusts none.

    Raises
    ------
    StorageUnavailable
        No backend works.
    StorageFailed
        A store exists and cannot be read or reached. It is never taken for an empty one.
    DataDamaged
        It was read, and nothing in it makes sense.
    """
    folder, problems = await choose_folder(backends, anew=discard_unreadable)
    door = Door(validate=validate, also_refuses=also_refuses)
    opened = await open_journal(
        folder,
        schema_version=door.schema_version,
        new_device_id=new_device_id,
        discard_unreadable=discard_unreadable,
    )
    contents = _contents(opened, door, checked_by)
    await _check_device(opened.journal, contents, door, new_device_id)
    journal = opened.journal
    report = OpenReport(
        backend=folder.kind,
        writable=journal.blocked is None,
        blocked=journal.blocked,
        records=len(contents.db.live_table(RECORDS)),
        problems=(*problems, *opened.problems, *contents.problems),
    )
    return JournalRepository(
        folder=folder,
        journal=journal,
        contents=contents,
        door=door,
        report=report,
        new_device_id=new_device_id,
        checked_by=checked_by,
    )


def _contents(opened: Opened, door: Door, checked_by: str) -> Contents:
    snapshot = opened.snapshot
    contents = Contents(door)
    if checked_by and snapshot.checked_by == checked_by:
        contents.load([*snapshot.unread, *opened.ops], snapshot.checked)
    else:
        contents.load([*snapshot.checked, *snapshot.unread, *opened.ops])
    return contents


async def _check_device(
    journal: Journal, contents: Contents, door: Door, new_device_id: NewDeviceId
) -> None:
    """Only read what a newer app wrote; go on under a new name when numbers run out."""
    if any(problem.code == "record_newer" for problem in contents.problems):
        newer = DataNewerThanApp(found="record", known=door.schema_version, what="record")
        await journal.block(newer)
    elif contents.highest(journal.header.device) > _NUMBERS_LEFT and not journal.blocked:
        await journal.replace_header(device=new_device_id())
