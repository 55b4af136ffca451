"""Erasing out of an open store: what is left takes the journal's place and is loaded again."""

from collections.abc import Collection

from mobile.storage.changes import without_system
from mobile.storage.contents import Contents
from mobile.storage.erasing import begin_erasing, journal_of
from mobile.storage.errors import AppError, ErasureStands, StorageLost, StoreBusy, StoreReadOnly
from mobile.storage.journal import Journal
from mobile.storage.loading import Loaded, Store, load
from mobile.storage.second_copy import SecondCopy
from mobile.storage.verdicts import VerdictFile


async def erased(
    store: Store,
    journal: Journal,
    contents: Contents,
    system: str | None,
    verdicts: VerdictFile,
    *,
    forget: Collection[str],
) -> tuple[Loaded, bool]:
    """Erase a system, or everything; return the store loaded anew, as a new device.

    Also return whether the second copy is erased as well; one that could not be reached is written
    over when it opens again.

    The caller holds the store's lock, and no snapshot is under way. `forget` names the pieces of
    app state that go with a system.

    Raises
    ------
    StoreReadOnly, StorageFull, StorageFailed
        Nothing was erased, and the journal goes on.
    ErasureStands
        It may be done already, or be done at the next opening: the journal takes no more.
    """
    if journal.blocked is not None:
        raise StoreReadOnly(reason=journal.blocked.code)
    header = journal.header
    is_cleared = await _clear_copy(store.second, header.lineage, header.epoch + 1)
    await verdicts.forget(system)
    checked, unread = contents.puts()
    kept = [] if system is None else without_system([*checked, *unread], system, forget)
    following = journal_of(
        kept,
        device=store.new_device_id(),
        schema_version=store.door.schema_version,
        epoch=header.epoch + 1,
        lineage=header.lineage,
    )
    try:
        await begin_erasing(store.folder, following, all_of_it=system is None)
    except ErasureStands as error:
        await journal.block(error)
        raise
    # From here on the mark is on the medium: whatever fails, it is not "nothing was erased".
    try:
        await journal.block(ErasureStands(cause="under way"))
        loaded = await load(store)
    except AppError as error:
        raise ErasureStands(cause=error.code) from error
    if isinstance(loaded.report.blocked, StoreBusy):
        # Another has the journal since it was let go: whether that one erased is not known here.
        raise ErasureStands(cause=loaded.report.blocked.code)
    if {op.id for op in kept} - {put.id for puts in loaded.contents.puts() for put in puts}:
        # Cleared by the browser meanwhile: what is in memory is all there is.
        await loaded.journal.close()
        raise ErasureStands(cause=StorageLost.code)
    return loaded, is_cleared


async def _clear_copy(second: SecondCopy | None, lineage: int, epoch: int) -> bool:
    """Erase the second copy first; one that cannot be reached now has an older epoch from then on.

    Returns
    -------
    bool
        Whether nothing of it is left; True where there is none.
    """
    if second is None:
        return True
    try:
        await second.clear(lineage, epoch)
    except AppError as error:
        print(f"erase: second copy: {error}")  # for developers; it is made anew when it opens
        return False
    return True
