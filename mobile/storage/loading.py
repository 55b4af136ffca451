"""Loading a store that was found: its journal, every record through the door, its second copy."""

from dataclasses import dataclass
from functools import partial

from mobile.storage import agreement
from mobile.storage.backend import Folder
from mobile.storage.contents import RECORDS, Contents
from mobile.storage.erasing import finish_erasing
from mobile.storage.errors import DataDamaged, DataNewerThanApp, StoreElsewhere
from mobile.storage.findings import COPY_ONLY, MAY_HAVE_COST
from mobile.storage.header import Header
from mobile.storage.journal import Journal, NewDeviceId
from mobile.storage.opening import Opened, open_journal
from mobile.storage.problems import Problem
from mobile.storage.repository import OpenReport
from mobile.storage.restore import Door
from mobile.storage.second_copy import SecondCopy
from mobile.storage.verdicts import VerdictFile

_NUMBERS_LEFT = 10**14


@dataclass(frozen=True, slots=True, kw_only=True)
class Store:
    """Where records are and by which rules they are read.

    Attributes
    ----------
    second : SecondCopy or None
        The copy in the other place of this device; None where there is one place only.
    checked_by : str
        Names the build whose door this is; see `store.open_repository`.
    all_places_opened : bool
        Whether there is no other place on this device that may hold something and did not open.
    """

    folder: Folder
    second: SecondCopy | None = None
    door: Door
    new_device_id: NewDeviceId
    checked_by: str = ""
    all_places_opened: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Loaded:
    """A journal, what it amounts to, and what was found wrong.

    Attributes
    ----------
    findings : tuple of Problem
        What may have cost an acknowledged entry, confirmed by the keeper or not.
    """

    journal: Journal
    contents: Contents
    report: OpenReport
    findings: tuple[Problem, ...]
    verdicts: VerdictFile


async def load(
    store: Store, *, problems: tuple[Problem, ...] = (), discard_unreadable: bool = False
) -> Loaded:
    """Load a store, after finishing what a cut left of erasing; raises as `open_repository`."""
    problems = (*problems, *await finish_erasing(store.folder))
    second = store.second
    if second is not None:
        await second.load()
    opened = await _open(store, second, discard_unreadable=discard_unreadable)
    journal = opened.journal
    if (
        second is not None
        and journal.blocked is None
        and await agreement.give_way(journal, second, store.folder, store.new_device_id)
    ):
        return await load(store, problems=(*problems, Problem(code="copy_took_over")))
    contents = _contents(opened, store)
    await _check_device(journal, contents, store)
    told: tuple[Problem, ...] = ()
    if second is not None and journal.blocked is None:
        told = await agreement.take_back(opened, contents, second, store.door, store.folder)
    findings = (*opened.findings, *(found for found in told if found.code in MAY_HAVE_COST))
    return await _loaded(store, journal, contents, (*problems, *opened.problems, *told), findings)


async def load_copy(
    store: Store, elsewhere: StoreElsewhere, *, problems: tuple[Problem, ...]
) -> Loaded:
    """Load the second copy for reading only, while the journal's own place does not open.

    Raises
    ------
    StoreElsewhere
        There is nothing in the copy.
    """
    second = SecondCopy(store.folder)
    await second.load()
    copy = await second.contents()
    if not copy.counts:
        raise elsewhere
    header = Header(schema_version=store.door.schema_version, seq=0, device=store.new_device_id())
    contents = Contents(store.door)
    contents.load(copy.found.ops)
    # It may be behind, and nothing saved here would be in the journal.
    only = Problem(code=COPY_ONLY, detail=elsewhere.rescued_copy)
    told = (only,) if copy.is_whole else (only, Problem(code="copy_damaged_only"))
    journal = Journal(None, header, copy.found.at, elsewhere)
    return await _loaded(store, journal, contents, (*problems, *told), (only,))


async def _open(store: Store, second: SecondCopy | None, *, discard_unreadable: bool) -> Opened:
    """Open the journal; one of which nothing can be read is begun anew where a copy has it all."""
    opener = partial(
        open_journal,
        store.folder,
        schema_version=store.door.schema_version,
        new_device_id=store.new_device_id,
        hint=second.mark if second is not None else None,
    )
    try:
        return await opener(discard_unreadable=discard_unreadable)
    except DataDamaged:
        if second is None or second.failed or not (await second.contents()).counts:
            raise
        return await opener(discard_unreadable=True)


async def _loaded(
    store: Store,
    journal: Journal,
    contents: Contents,
    problems: tuple[Problem, ...],
    findings: tuple[Problem, ...],
) -> Loaded:
    second = store.second
    verdicts = VerdictFile(store.folder, *((second.folder,) if second is not None else ()))
    await verdicts.load()
    report = OpenReport(
        backend=store.folder.kind,
        writable=journal.blocked is None,
        blocked=journal.blocked,
        records=len(contents.db.live_table(RECORDS)),
        problems=(*problems, *contents.problems),
        second=store.second.kind if store.second is not None else "",
    )
    return Loaded(
        journal=journal, contents=contents, report=report, findings=findings, verdicts=verdicts
    )


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
