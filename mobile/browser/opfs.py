"""A store in the browser's own file system (OPFS), through synchronous access handles.

Only opening waits; reading, writing and flushing return when they are done. One writer at a time:
a Web Lock is held while the journal is open for writing, and the handle is a lock of its own. The
page before a reload may still hold either for a moment, so both are asked for again for a while.
"""

import asyncio
from typing import Any, Final

import js  # pyright: ignore[reportMissingImports]
from pyodide.ffi import JsException  # pyright: ignore[reportMissingImports]

from mobile.browser.bridge import FOLDER_NAME, PAUSE_S, lock_writer, options, translated
from mobile.browser.weblock import WebLock
from mobile.storage.backend import ByteFile, ReadOnlyBytes, try_out
from mobile.storage.errors import (
    StorageFailed,
    StorageFull,
    StorageLost,
    StorageUnavailable,
    StoreBusy,
)
from mobile.storage.journal import JOURNAL_NAME

HANDLE_ATTEMPTS: Final = 50
# Chromium answers a failed write with a negative code of its own as a huge number instead of
# raising (measured with version 156: 2**32 - 8 with the quota used up, which is its "no space").
_WRAP: Final = 2**32
_NO_SPACE: Final = -8


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
        """Return once the bytes are on the medium."""
        with translated("flush", self._name):
            self._handle.flush()

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
        with translated("close", self._name):
            self._handle.close()
        self._handle = await self._folder.open_handle(self._name, create=False)

    async def close(self) -> None:
        """Release the file, and the lock with the journal."""
        try:
            with translated("close", self._name):
                self._handle.close()
        finally:
            if self._lock is not None:
                self._lock.release()


def taken_bytes(answer: Any, wanted: int, name: str) -> int:
    """Return the bytes that a write took.

    Raises
    ------
    StorageFull
        The browser's answer is its code for no space.
    StorageFailed
        It is another code, or no count at all.
    """
    try:
        taken = int(answer)
    except (TypeError, ValueError) as error:
        raise StorageFailed(operation="write", file=name, reason=f"answered {answer!r}") from error
    if 0 <= taken <= wanted:
        return taken
    code = taken - _WRAP if taken > 0 else taken
    kind = StorageFull if code == _NO_SPACE else StorageFailed
    raise kind(operation="write", file=name, wanted=wanted, reason=f"answered {taken}")


class OpfsFolder:
    """The app's folder in the browser's file system."""

    def __init__(self, directory: Any) -> None:
        self._directory = directory

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
        with translated("lock", name):
            lock = await lock_writer(FOLDER_NAME) if name == JOURNAL_NAME else None
        try:
            return OpfsFile(self, await self.open_handle(name), name, lock)
        except BaseException:
            if lock is not None:
                lock.release()
            raise

    async def names(self) -> tuple[str, ...]:
        """Return the names of the files, sorted."""
        with translated("list", FOLDER_NAME):
            keys = self._directory.keys()  # an asynchronous iterator: this is no dict
            return tuple(sorted([str(name) async for name in keys]))

    async def remove(self, name: str) -> None:
        """Remove a file that nobody has open."""
        with translated("remove", name):
            await self._directory.removeEntry(name)

    async def open_handle(self, name: str, *, create: bool = True) -> Any:
        """Return a handle of our own; StoreBusy while another has one, StorageLost without file."""
        with translated("open", name):
            try:
                entry = await self._directory.getFileHandle(name, options(create=create))
            except JsException as error:
                if create or error.name != "NotFoundError":
                    raise
                raise StorageLost(operation="open", file=name) from error
            for _ in range(HANDLE_ATTEMPTS):
                try:
                    return await entry.createSyncAccessHandle()
                except JsException as error:
                    if error.name != "NoModificationAllowedError":
                        raise
                await asyncio.sleep(PAUSE_S)
        raise StoreBusy(file=name)


async def opfs_folder() -> OpfsFolder:
    """Open the app's folder after a trial of writing, flushing and reading back.

    Raises
    ------
    StorageUnavailable
        The browser has no OPFS with synchronous handles here (a private window may not).
    """
    try:
        root = await js.navigator.storage.getDirectory()
        folder = OpfsFolder(await root.getDirectoryHandle(FOLDER_NAME, options(create=True)))
        await try_out(folder, JOURNAL_NAME)
    except (JsException, AttributeError, TypeError) as error:
        raise StorageUnavailable(backend="opfs", reason=str(error)) from error
    return folder
