"""A store in the browser's own file system (OPFS), through synchronous access handles.

Only opening waits; reading, writing and flushing return when they are done. One writer at a time:
a Web Lock is held while the journal is open for writing, and the handle is a lock of its own. The
page before a reload may still hold either for a moment, so both are asked for again for a while.
Where the handle of a journal that is not there yet stays refused, places.py says what follows.
"""

import asyncio
from typing import Any, Final

import js  # pyright: ignore[reportMissingImports]
from pyodide.ffi import JsException  # pyright: ignore[reportMissingImports]

from mobile.browser import places
from mobile.browser.answers import taken_bytes
from mobile.browser.bridge import PAUSE_S, lock_writer, options, translated
from mobile.browser.names import SHARED
from mobile.browser.weblock import WebLock
from mobile.storage.backend import ByteFile, ReadOnlyBytes, try_out
from mobile.storage.errors import (
    StorageFailed,
    StorageLost,
    StorageUnavailable,
    StoreBusy,
)
from mobile.storage.journal import JOURNAL_NAME

HANDLE_ATTEMPTS: Final = 50


class OpfsFile:
    """A file open for writing."""

    def __init__(self, folder: "OpfsFolder", handle: Any, name: str, lock: WebLock | None) -> None:
        self._folder = folder
        self._handle = handle
        self._name = name
        self._lock = lock

    async def size(self) -> int:
        """Return the length in bytes."""
        with translated("size", self._name):
            return int(self._handle.getSize())

    async def read(self, at: int, count: int) -> bytes:
        """Return up to `count` bytes from `at` on."""
        with translated("read", self._name):
            buffer = js.Uint8Array.new(count)
            taken = int(self._handle.read(buffer, options(at=at)))
        if not 0 <= taken <= count:
            raise StorageFailed(operation="read", file=self._name, reason=f"answered {taken}")
        return buffer.to_bytes()[:taken]

    async def write(self, at: int, data: bytes) -> int:
        """Write at `at`; return the bytes taken."""
        with translated("write", self._name):
            buffer = js.Uint8Array.new(len(data))
            buffer.assign(data)
            answer = self._handle.write(buffer, options(at=at))
        return taken_bytes(answer, len(data), self._name)

    async def flush(self) -> None:
        """Return once the bytes are on the medium; StorageLost when the file is gone.

        A handle outlives its file: after the browser cleared its storage it goes on taking bytes
        that nobody will ever read (measured with Chromium 156). So the file is looked for after
        each flush.
        """
        with translated("flush", self._name):
            self._handle.flush()
        await self._folder.entry(self._name)

    async def truncate(self, size: int) -> None:
        """Cut to `size` bytes."""
        with translated("truncate", self._name):
            self._handle.truncate(size)

    async def renew(self) -> None:
        """Open a handle afresh, as after a suspension; the writer's lock stays with us.

        Raises
        ------
        StorageLost
            The file is gone: the browser cleared its storage.
        """
        await self._close_handle()
        self._handle = await self._folder.open_handle(self._name, create=False)

    async def close(self) -> None:
        """Release the file, and the lock with the journal."""
        try:
            await self._close_handle()
        except StorageLost as error:
            print(f"close: {error}")  # told at the save that found it, or nothing was to be saved
        finally:
            if self._lock is not None:
                self._lock.release()

    async def _close_handle(self) -> None:
        """Close the handle; raises StorageLost, and leaves it, when its file is gone.

        To close such a handle never returns, and stops the whole worker (Chromium 156).
        """
        await self._folder.entry(self._name)
        with translated("close", self._name):
            self._handle.close()


class OpfsFolder:
    """The app's folder in the browser's file system, of the site below a base."""

    def __init__(self, root: Any, base: str) -> None:
        self._root = root
        self._base = base
        self._name = places.place_name(places.FIRST, base)  # also the lock of all its folders
        self._number = places.FIRST
        self._directory: Any = None  # until `stand`

    @property
    def kind(self) -> str:
        """Which backend this is."""
        return "opfs"

    async def open(self, name: str, *, writable: bool) -> ByteFile:
        """Open a file, creating it when `writable`."""
        if not writable:
            with translated("open", name):
                entry = await self._directory.getFileHandle(name)
                content = await (await entry.getFile()).arrayBuffer()
                return ReadOnlyBytes(content.to_bytes(), name)
        if name != JOURNAL_NAME:
            return OpfsFile(self, await self.open_handle(name), name, None)
        with translated("lock", name):
            lock = await lock_writer(self._name)
        try:
            return OpfsFile(self, await self._open_journal(lock), name, lock)
        except BaseException:
            if lock is not None:
                lock.release()
            raise

    async def stand(self, number: int | None = None) -> None:
        """Go to a folder, making it; without a number to the one that holds records."""
        with translated("open", self._name):
            if number is None:
                numbers = places.places(await _names(self._root), self._base)
                number = places.standing({each: await self._is_blank(each) for each in numbers})
            name = places.place_name(number, self._base)
            self._directory = await self._root.getDirectoryHandle(name, options(create=True))
            self._number = number

    async def _is_blank(self, number: int) -> bool:
        name = places.place_name(number, self._base)
        with translated("look", name):
            directory = await self._root.getDirectoryHandle(name)
            names = await _names(directory)
            if JOURNAL_NAME not in names:
                return places.is_blank(names, 0)
            journal = await (await directory.getFileHandle(JOURNAL_NAME)).getFile()
            return places.is_blank(names, int(journal.size))

    async def _open_journal(self, lock: WebLock | None) -> Any:
        """Return the journal's handle; with the lock, from a next folder where it stays refused."""
        if lock is None:
            return await self.open_handle(JOURNAL_NAME)
        await self.stand()  # another page may have gone on to a next folder meanwhile
        while True:
            try:
                return await self.open_handle(JOURNAL_NAME)
            except StoreBusy:
                if self._number == places.MOST or not await self._is_blank(self._number):
                    raise
            await self.stand(self._number + 1)

    async def names(self) -> tuple[str, ...]:
        """Return the names of the files, sorted."""
        with translated("list", self._name):
            return tuple(sorted(await _names(self._directory)))

    async def remove(self, name: str) -> None:
        """Remove a file that nobody has open."""
        with translated("remove", name):
            await self._directory.removeEntry(name)

    async def entry(self, name: str, *, create: bool = False) -> Any:
        """Return a file's entry; StorageLost when it is gone and must not be made.

        It is looked for twice: "all is gone" must not be said for a passing failure.
        """
        with translated("find", name):
            try:
                return await self._directory.getFileHandle(name, options(create=create))
            except JsException as error:
                if create or error.name != "NotFoundError":
                    raise
            try:
                return await self._directory.getFileHandle(name)
            except JsException as error:
                if error.name != "NotFoundError":
                    raise
                raise StorageLost(operation="find", file=name) from error

    async def open_handle(self, name: str, *, create: bool = True) -> Any:
        """Return a handle of our own; StoreBusy while another has one, StorageLost without file."""
        entry = await self.entry(name, create=create)
        with translated("open", name):
            for _ in range(HANDLE_ATTEMPTS):
                try:
                    return await entry.createSyncAccessHandle()
                except JsException as error:
                    if error.name != "NoModificationAllowedError":
                        raise
                await asyncio.sleep(PAUSE_S)
        raise StoreBusy(file=name)


async def _names(directory: Any) -> list[str]:
    keys = directory.keys()  # an asynchronous iterator: this is no dict
    return [str(name) async for name in keys]


async def opfs_folder(base: str) -> OpfsFolder:
    """Open a site's folder after a trial of writing, flushing and reading back.

    Raises
    ------
    StorageUnavailable
        The browser has no OPFS with synchronous handles here (a private window may not).
    """
    try:
        root = await js.navigator.storage.getDirectory()
        folder = OpfsFolder(root, base)
        await folder.stand()
        await try_out(folder, JOURNAL_NAME)
    except (JsException, AttributeError, TypeError, StorageFailed) as error:
        raise StorageUnavailable(backend="opfs", reason=str(error)) from error
    return folder


async def shared_opfs() -> OpfsFolder | None:
    """Open the folder that sites of every base once shared; None where there is none.

    Raises
    ------
    StorageFailed
        It cannot be looked for.
    """
    with translated("look", places.NAME):
        root = await js.navigator.storage.getDirectory()
        if not places.places(await _names(root), SHARED):
            return None
    folder = OpfsFolder(root, SHARED)
    await folder.stand()
    return folder
