"""Taking a snapshot at an idle moment, without holding up a save."""

import asyncio
from collections.abc import AsyncGenerator, Awaitable, Callable
from contextlib import asynccontextmanager
from dataclasses import replace
from typing import Final

from mobile.storage.backend import Folder
from mobile.storage.batch import Put
from mobile.storage.contents import Contents
from mobile.storage.errors import AppError, StorageFailed
from mobile.storage.journal import Journal
from mobile.storage.snapshot import Basis, Pause, generation_of, name_of, write_snapshot

LEAST_BYTES: Final = 1 << 20


class Tidying:
    """The snapshot under way of one store, if any.

    It stops between two of its parts and is never cancelled inside one: the handle that a browser
    was about to give would stay open, and keep its file from being removed.
    """

    def __init__(self) -> None:
        self._task: asyncio.Task[bool] | None = None
        self._is_wanted = True
        self._holders = 0

    async def run(self, take: Callable[[Pause], Awaitable[bool]]) -> bool:
        """Take a snapshot, unless one is under way or held off; whether one was taken."""
        if self._holders or self._task is not None:
            return False
        self._is_wanted = True
        task = self._task = asyncio.create_task(self._taken(take))
        try:
            return await asyncio.shield(task)
        except asyncio.CancelledError:
            self._is_wanted = False
            raise

    async def queued(self, work: Callable[[Pause], Awaitable[bool]]) -> bool:
        """Do a piece of work once what is under way has ended, unless it is held off."""
        while self._task is not None and not self._holders:
            await asyncio.wait({self._task})
        return await self.run(work)

    async def _taken(self, take: Callable[[Pause], Awaitable[bool]]) -> bool:
        try:
            return await take(self._pause)
        finally:
            self._task = None

    async def _pause(self) -> None:
        await asyncio.sleep(0)
        if not self._is_wanted:
            raise StorageFailed(operation="snapshot", reason="called off")

    @asynccontextmanager
    async def held(self) -> AsyncGenerator[None]:
        """Stop the snapshot under way, wait for its end, and let none begin meanwhile.

        To be entered before the store's lock is taken: the snapshot may be waiting for it.
        """
        self._holders += 1
        self._is_wanted = False
        try:
            if self._task is not None:
                await asyncio.wait({self._task})
            yield
        finally:
            self._holders -= 1


async def take_snapshot(
    folder: Folder,
    journal: Journal,
    contents: Contents,
    *,
    lock: asyncio.Lock,
    checked_by: str,
    pause: Pause,
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
        after=position.digest,
    )
    try:
        basis = replace(basis, generation=await _unused(folder, header.snapshot_generation))
        await _write(folder, basis, (checked, unread), pause)
        async with lock:
            await journal.replace_header(basis=basis)
        await _remove_old(folder, (header.snapshot_generation, basis.generation))
    except AppError as error:
        print(f"snapshot: {error}")  # for developers; the journal has everything
        return False
    return True


async def _write(
    folder: Folder, basis: Basis, puts: tuple[list[Put], list[Put]], pause: Pause
) -> None:
    """Write a snapshot; where that fails nothing of it stays: records may be erased later."""
    try:
        await write_snapshot(folder, basis, *puts, pause=pause)
    except AppError:
        name = name_of(basis.generation)
        if name in await folder.names():
            await folder.remove(name)
        raise


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
