"""Opening the store: the backend to use, its journal, every record through the door."""

from mobile.storage.backend import OpenFolder
from mobile.storage.choosing import choose_places
from mobile.storage.journal import NewDeviceId
from mobile.storage.journal_repository import JournalRepository
from mobile.storage.loading import Store, load, load_copy
from mobile.storage.restore import Door, Validate
from mobile.storage.second_copy import SecondCopy


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
    places = await choose_places(backends, anew=discard_unreadable)
    store = Store(
        folder=places.folder,
        second=SecondCopy(places.second) if places.second else None,
        door=Door(validate=validate, also_refuses=also_refuses),
        new_device_id=new_device_id,
        checked_by=checked_by,
        all_places_opened=not places.troubled,
    )
    if places.elsewhere is not None:
        loaded = await load_copy(store, places.elsewhere, problems=places.problems)
    else:
        loaded = await load(store, problems=places.problems, discard_unreadable=discard_unreadable)
    return JournalRepository(store, loaded)
