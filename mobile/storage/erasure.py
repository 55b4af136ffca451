"""Erasing out of an open store: what is left takes the journal's place and is loaded again."""

from collections.abc import Collection

from mobile.storage.changes import without_system
from mobile.storage.contents import Contents
from mobile.storage.erasing import begin_erasing, journal_of
from mobile.storage.errors import AppError, ErasureStands, StorageLost, StoreBusy, StoreReadOnly
from mobile.storage.journal import Journal
from mobile.storage.loading import Loaded, Store, load
from mobile.storage.second_copy import SecondCopy


async def erased(
    store: Store,
    journal: Journal,
    contents: Contents,
    system: str | None,
    *,
    forget: Collection[str],
) -> Loaded:
    """Erase a system, or everything, and return the store loaded anew, as a new device.

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
    epoch = journal.header.epoch + 1
    if store.second is not None:
        await _clear_copy(store.second, epoch)
    checked, unread = contents.puts()
    kept = [] if system is None else without_system([*checked, *unread], system, forget)
    following = journal_of(
        kept,
        device=store.new_device_id(),
        schema_version=store.door.schema_version,
        epoch=epoch,
    )
    try:
        await begin_erasing(store.folder, following)
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
    return loaded


async def _clear_copy(second: SecondCopy, epoch: int) -> None:
    """Erase the second copy first; one that cannot be reached now has an older epoch for ever."""
    try:
        await second.clear(epoch)
    except AppError as error:
        print(f"erase: second copy: {error}")  # for developers; it is made anew when it opens
