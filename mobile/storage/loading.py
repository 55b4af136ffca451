"""Loading a store that was found: its journal, and every record through the door."""

from dataclasses import dataclass

from mobile.storage.backend import Folder
from mobile.storage.contents import RECORDS, Contents
from mobile.storage.erasing import finish_erasing
from mobile.storage.errors import DataNewerThanApp
from mobile.storage.journal import Journal, NewDeviceId
from mobile.storage.opening import Opened, open_journal
from mobile.storage.problems import Problem
from mobile.storage.repository import OpenReport
from mobile.storage.restore import Door

_NUMBERS_LEFT = 10**14


@dataclass(frozen=True, slots=True, kw_only=True)
class Store:
    """Where records are and by which rules they are read.

    Attributes
    ----------
    checked_by : str
        Names the build whose door this is; see `store.open_repository`.
    """

    folder: Folder
    door: Door
    new_device_id: NewDeviceId
    checked_by: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Loaded:
    """A journal, what it amounts to, and what was found wrong."""

    journal: Journal
    contents: Contents
    report: OpenReport


async def load(
    store: Store, *, problems: tuple[Problem, ...] = (), discard_unreadable: bool = False
) -> Loaded:
    """Load a store, after finishing what a cut left of erasing; raises as `open_repository`."""
    problems = (*problems, *await finish_erasing(store.folder))
    opened = await open_journal(
        store.folder,
        schema_version=store.door.schema_version,
        new_device_id=store.new_device_id,
        discard_unreadable=discard_unreadable,
    )
    contents = _contents(opened, store)
    await _check_device(opened.journal, contents, store)
    journal = opened.journal
    report = OpenReport(
        backend=store.folder.kind,
        writable=journal.blocked is None,
        blocked=journal.blocked,
        records=len(contents.db.live_table(RECORDS)),
        problems=(*problems, *opened.problems, *contents.problems),
    )
    return Loaded(journal=journal, contents=contents, report=report)


def _contents(opened: Opened, store: Store) -> Contents:
    snapshot = opened.snapshot
    contents = Contents(store.door)
    if store.checked_by and snapshot.checked_by == store.checked_by:
        contents.load([*snapshot.unread, *opened.ops], snapshot.checked)
    else:
        contents.load([*snapshot.checked, *snapshot.unread, *opened.ops])
    return contents


async def _check_device(journal: Journal, contents: Contents, store: Store) -> None:
    """Only read what a newer app wrote; go on under a new name when numbers run out."""
    if any(problem.code == "record_newer" for problem in contents.problems):
        known = store.door.schema_version
        newer = DataNewerThanApp(found="record", known=known, what="record")
        await journal.block(newer)
    elif contents.highest(journal.header.device) > _NUMBERS_LEFT and not journal.blocked:
        await journal.replace_header(device=store.new_device_id())
