"""A store in the browser's own file system (OPFS), through synchronous access handles.

Only opening waits; reading, writing and flushing return when they are done. One writer at a time:
a Web Lock is held while the journal is open for writing, and the handle is a lock of its own. The
page before a reload may still hold either for a moment, so both are asked for again for a while.
"""

import asyncio
from collections.abc import Generator
from contextlib import contextmanager
from typing import Any, Final

import js  # pyright: ignore[reportMissingImports]
from pyodide.ffi import JsException, to_js  # pyright: ignore[reportMissingImports]

from mobile.browser.weblock import WebLock
from mobile.storage.backend import ByteFile
from mobile.storage.errors import StorageFailed, StorageFull, StorageUnavailable, StoreBusy
from mobile.storage.journal import JOURNAL_NAME

FOLDER_NAME: Final = "sumpside-records"
HANDLE_ATTEMPTS: Final = 50
LOCK_ATTEMPTS: Final = 20
PAUSE_S: Final = 0.1
_TRIAL_NAME: Final = "trial"
_TRIAL_BYTES: Final = b"written, flushed and read back"


def _options(**fields: Any) -> Any:
    return to_js(fields, dict_converter=js.Object.fromEntries)


@contextmanager
def _translated(operation: str, name: str) -> Generator[None]:
    """Turn the browser's errors into ours."""
    try:
        yield
    except JsException as error:
        kind = StorageFull if error.name == "QuotaExceededError" else StorageFailed
        raise kind(operation=operation, file=name, reason=f"{error.name}: {error}") from error


class OpfsFile:
    """A file open for writing."""

    def __init__(self, handle: Any, name: str, lock: WebLock | None) -> None:
        self._handle = handle
        self._name = name
        self._lock = lock

    async def size(self) -> int:
        """Return the length in bytes."""
        with _translated("size", self._name):
            return int(self._handle.getSize())

    async def read(self, at: int, count: int) -> bytes:
        """Return up to `count` bytes from `at` on."""
        with _translated("read", self._name):
            buffer = js.Uint8Array.new(count)
            taken = int(self._handle.read(buffer, _options(at=at)))
            return buffer.to_bytes()[:taken]

    async def write(self, at: int, data: bytes) -> int:
        """Write at `at`; return the bytes taken."""
        with _translated("write", self._name):
            buffer = js.Uint8Array.new(len(data))
            buffer.assign(data)
            taken = int(self._handle.write(buffer, _options(at=at)))
        # With its quota used up Chromium 156 answers 2**32 - 8 instead of raising (measured).
        return taken if taken <= len(data) else 0

    async def flush(self) -> None:
        """Return once the bytes are on the medium."""
        with _translated("flush", self._name):
            self._handle.flush()

    async def truncate(self, size: int) -> None:
        """Cut to `size` bytes."""
        with _translated("truncate", self._name):
            self._handle.truncate(size)

    async def close(self) -> None:
        """Release the file, and the lock with the journal."""
        with _translated("close", self._name):
            self._handle.close()
        if self._lock is not None:
            self._lock.release()


class OpfsCopy:
    """The bytes that a file had when it was opened for reading, beside a writer."""

    def __init__(self, data: bytes, name: str) -> None:
        self._data = data
        self._name = name

    async def size(self) -> int:
        """Return the length in bytes."""
        return len(self._data)

    async def read(self, at: int, count: int) -> bytes:
        """Return up to `count` bytes from `at` on."""
        return self._data[at : at + count]

    async def write(self, at: int, data: bytes) -> int:
        """Refuse."""
        raise StorageFailed(operation="write", file=self._name, at=at, wanted=len(data))

    async def flush(self) -> None:
        """Refuse."""
        raise StorageFailed(operation="flush", file=self._name)

    async def truncate(self, size: int) -> None:
        """Refuse."""
        raise StorageFailed(operation="truncate", file=self._name, size=size)

    async def close(self) -> None:
        """Nothing is held."""


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
            with _translated("open", name):
                entry = await self._directory.getFileHandle(name)
                content = await (await entry.getFile()).arrayBuffer()
                return OpfsCopy(content.to_bytes(), name)
        with _translated("lock", name):
            lock = await _lock_writer() if name == JOURNAL_NAME else None
        try:
            return OpfsFile(await self._open_handle(name), name, lock)
        except BaseException:
            if lock is not None:
                lock.release()
            raise

    async def names(self) -> tuple[str, ...]:
        """Return the names of the files, sorted."""
        with _translated("list", FOLDER_NAME):
            keys = self._directory.keys()  # an asynchronous iterator: this is no dict
            return tuple(sorted([str(name) async for name in keys]))

    async def remove(self, name: str) -> None:
        """Remove a file that nobody has open."""
        with _translated("remove", name):
            await self._directory.removeEntry(name)

    async def _open_handle(self, name: str) -> Any:
        with _translated("open", name):
            entry = await self._directory.getFileHandle(name, _options(create=True))
            for _ in range(HANDLE_ATTEMPTS):
                try:
                    return await entry.createSyncAccessHandle()
                except JsException as error:
                    if error.name != "NoModificationAllowedError":
                        raise
                await asyncio.sleep(PAUSE_S)
        raise StoreBusy(file=name)


async def _lock_writer() -> WebLock | None:
    """Take the lock of the one writer; None where the browser has no Web Locks.

    Raises
    ------
    StoreBusy
        Another page of ours has it.
    """
    if not WebLock.exists():
        return None
    lock = WebLock(FOLDER_NAME)
    for _ in range(LOCK_ATTEMPTS):
        if await lock.acquire():
            return lock
        await asyncio.sleep(PAUSE_S)
    raise StoreBusy(file=JOURNAL_NAME)


async def opfs_folder() -> OpfsFolder:
    """Open the app's folder after a trial of writing, flushing and reading back.

    Raises
    ------
    StorageUnavailable
        The browser has no OPFS with synchronous handles here (a private window may not).
    """
    try:
        root = await js.navigator.storage.getDirectory()
        folder = OpfsFolder(await root.getDirectoryHandle(FOLDER_NAME, _options(create=True)))
        await _try_out(folder)
    except (JsException, AttributeError, TypeError) as error:
        raise StorageUnavailable(backend="opfs", reason=str(error)) from error
    return folder


async def _try_out(folder: OpfsFolder) -> None:
    """Write, flush and read back, unless a store is there already: then opening it is the trial."""
    if JOURNAL_NAME in await folder.names():
        return
    try:
        file = await folder.open(_TRIAL_NAME, writable=True)
        try:
            await file.write(0, _TRIAL_BYTES)
            await file.flush()
            found = await file.read(0, len(_TRIAL_BYTES))
        finally:
            await file.close()
        await folder.remove(_TRIAL_NAME)
    except (StorageFailed, StoreBusy) as error:
        raise StorageUnavailable(backend="opfs", reason=str(error)) from error
    if found != _TRIAL_BYTES:
        raise StorageUnavailable(backend="opfs", reason="what was written did not come back")
