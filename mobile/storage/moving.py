"""Records move to a new place: copied, read back, and only then the new place counts.

A site that shares its origin with others once kept its records under a name that all of them used.
The old place is left as it is, since another site may have its records there; the copy goes on as
another device, so that the two never make the same id.

A mark stands in the new place from before the first byte until all was read back. Whatever lies
there under a standing mark does not count: after a cut it is copied once more.
"""

from collections.abc import Awaitable, Callable
from dataclasses import replace
from typing import Final

from mobile.storage.backend import (
    TRIAL,
    Folder,
    OpenFolder,
    read_file,
    read_whole,
    rewrite,
    write_file,
)
from mobile.storage.choosing import MARK as KEPT_IN
from mobile.storage.erasing import finish_erasing
from mobile.storage.errors import DataNewerThanApp
from mobile.storage.header import DATA_START, FORMAT_VERSION, choose, encode_slot, slot_place
from mobile.storage.journal import JOURNAL_NAME, NewDeviceId
from mobile.storage.second_copy import SECOND_COPY

MARK: Final = "moving"
_STANDS: Final = b"what lies here is not whole yet"

OpenOld = Callable[[], Awaitable[Folder | None]]
"""Opens the place that was used before, or returns None where there is none."""


def taking_over(open_new: OpenFolder, open_old: OpenOld, new_device_id: NewDeviceId) -> OpenFolder:
    """Return an opener of the new place that has the records of the old one, if it had none.

    Beside what `open_new` raises, it raises what `take_over` does: an old place that cannot be
    copied is never taken for an empty one.
    """

    async def open_folder() -> Folder:
        new = await open_new()
        if not await _counts(new):
            old = await open_old()
            if old is None:
                await _settle(new)  # all that is left is what a cut left of the copy
            else:
                await take_over(old, new, new_device_id)
        return new

    return open_folder


async def take_over(old: Folder, new: Folder, new_device_id: NewDeviceId) -> None:
    """Copy the records of the old place, under its writer's lock, where the new one has none.

    Raises
    ------
    StoreBusy
        Another page writes to the old place.
    DataNewerThanApp
        A newer version of the app wrote there.
    StorageFull, StorageFailed
        The copy is not whole and does not count; the old place is as it was.
    """
    if not await _size(old, JOURNAL_NAME):
        await _copy_marks(old, new)
        await _settle(new)
        return
    await finish_erasing(old)
    journal = await old.open(JOURNAL_NAME, writable=True)
    try:
        if not await _counts(new):  # else another page was at it meanwhile
            await _copy(old, await read_whole(journal), new, new_device_id)
    finally:
        await journal.close()


async def clear(old: Folder) -> None:
    """Empty a place for good, under its writer's lock; the journal goes last.

    Raises
    ------
    StoreBusy
        Another page writes to it.
    StorageFailed
        Something may be left.
    """
    journal = await old.open(JOURNAL_NAME, writable=True)
    try:
        for name in await old.names():
            if name != JOURNAL_NAME:
                await write_file(old, name, b"")
                await old.remove(name)
        await rewrite(journal, b"")
    finally:
        await journal.close()
    await old.remove(JOURNAL_NAME)


async def _copy(old: Folder, journal: bytes, new: Folder, new_device_id: NewDeviceId) -> None:
    copied = _as_another_device(journal, new_device_id)
    await write_file(new, MARK, _STANDS)
    for name in await new.names():  # of a copy that was cut
        if name != MARK and not name.startswith((TRIAL, KEPT_IN)):
            await write_file(new, name, b"")
            await new.remove(name)
    for name in await old.names():
        if name != JOURNAL_NAME and not name.startswith(TRIAL):
            await write_file(new, name, await read_file(old, name))
    await write_file(new, JOURNAL_NAME, copied)
    await _settle(new)


def _as_another_device(journal: bytes, new_device_id: NewDeviceId) -> bytes:
    """Return the journal's bytes with a new header in force, in the slot that was not.

    Without a header that can be read, opening gives the journal a new device by itself.
    """
    header = choose(journal[:DATA_START]) if len(journal) >= DATA_START else None
    if header is None:
        return journal
    if header.format_version > FORMAT_VERSION:
        raise DataNewerThanApp(found=header.format_version, known=FORMAT_VERSION, what="format")
    ours = replace(header, seq=header.seq + 1, device=new_device_id())
    slot, at = encode_slot(ours), slot_place(ours)
    return journal[:at] + slot + journal[at + len(slot) :]


async def _counts(folder: Folder) -> bool:
    # A second copy lies in the place of a site of its own, whose journal is in the other one.
    names = set(await folder.names())
    return bool({JOURNAL_NAME, SECOND_COPY} & names) and not await _size(folder, MARK)


async def _settle(folder: Folder) -> None:
    """Let what lies here count; the mark is emptied, since a power cut can forget a removal."""
    if MARK in await folder.names():
        await write_file(folder, MARK, b"")
        await folder.remove(MARK)


async def _copy_marks(old: Folder, new: Folder) -> None:
    """Take along where records are kept, should that place not open today."""
    there = await new.names()
    for name in await old.names():
        if name.startswith(KEPT_IN) and name not in there:
            await write_file(new, name, b"")


async def _size(folder: Folder, name: str) -> int:
    return len(await read_file(folder, name)) if name in await folder.names() else 0
