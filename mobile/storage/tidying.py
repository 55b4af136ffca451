"""Taking a snapshot at an idle moment, without holding up a save."""

import asyncio
from typing import Final

from mobile.storage.backend import Folder
from mobile.storage.contents import Contents
from mobile.storage.errors import AppError
from mobile.storage.journal import Journal
from mobile.storage.snapshot import PREFIX, Basis, name_of, write_snapshot

LEAST_BYTES: Final = 1 << 20


async def take_snapshot(
    folder: Folder,
    journal: Journal,
    contents: Contents,
    *,
    lock: asyncio.Lock,
    checked_by: str,
    least_bytes: int = LEAST_BYTES,
) -> bool:
    """Take a snapshot of what is acknowledged now, if the journal grew by `least_bytes`.

    Saves go on meanwhile: what they add stands behind the byte that the snapshot is for. The
    header names it only after it was read back and verified; the one before is kept.

    Returns
    -------
    bool
        Whether one was taken; a failure is printed and changes nothing.
    """
    async with lock:
        header, position = journal.header, journal.position
        if journal.blocked or position.end - header.replay_from < least_bytes:
            return False
        checked, unread = contents.puts()
    basis = Basis(
        generation=header.snapshot_generation + 1,
        replay_from=position.end,
        replay_after_seq=position.next_seq - 1,
        checked_by=checked_by,
    )
    try:
        await write_snapshot(folder, basis, checked, unread)
        async with lock:
            await journal.replace_header(basis=basis)
        await _remove_old(folder, basis.generation)
    except AppError as error:
        print(f"snapshot: {error}")  # for developers; the journal has everything
        return False
    return True


async def _remove_old(folder: Folder, generation: int) -> None:
    kept = {name_of(generation), name_of(generation - 1)}
    for name in await folder.names():
        if name.startswith(PREFIX) and name not in kept:
            await folder.remove(name)
