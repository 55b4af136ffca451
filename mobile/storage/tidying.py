"""Taking a snapshot at an idle moment, without holding up a save."""

import asyncio
from dataclasses import replace
from typing import Final

from mobile.storage.backend import Folder
from mobile.storage.contents import Contents
from mobile.storage.errors import AppError
from mobile.storage.journal import Journal
from mobile.storage.snapshot import Basis, generation_of, name_of, write_snapshot

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
        basis = replace(basis, generation=await _unused(folder, header.snapshot_generation))
        await write_snapshot(folder, basis, checked, unread)
        async with lock:
            await journal.replace_header(basis=basis)
        await _remove_old(folder, (header.snapshot_generation, basis.generation))
    except AppError as error:
        print(f"snapshot: {error}")  # for developers; the journal has everything
        return False
    return True


async def _unused(folder: Folder, in_force: int) -> int:
    """Return a generation of which no file is left.

    A header whose flush failed may be on the medium all the same: the file it names is not touched.
    """
    left = [generation_of(name) for name in await folder.names()]
    return 1 + max([in_force, *filter(None, left)])


async def _remove_old(folder: Folder, generations: tuple[int, ...]) -> None:
    kept = {name_of(generation) for generation in generations}
    for name in await folder.names():
        if generation_of(name) and name not in kept:
            await folder.remove(name)
