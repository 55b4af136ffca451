"""What a place that keeps bytes must offer: a folder of files, each a growing row of bytes.

Everything is `async` so that a store of IndexedDB rows can stand here as well as an OPFS handle, a
file on a disk or plain memory. One contract test runs over all of them.
"""

import secrets
import zlib
from collections.abc import Awaitable, Callable
from typing import Final, Protocol

from mobile.storage.errors import StorageFailed, StorageUnavailable, StoreBusy


class ByteFile(Protocol):
    """One open file.

    Every method raises `StorageFull` when there is no room and `StorageFailed` on any other
    failure. Nothing written is safe until `flush` has returned.
    """

    async def size(self) -> int:
        """Return the length in bytes."""
        ...

    async def read(self, at: int, count: int) -> bytes:
        """Return up to `count` bytes from `at` on; fewer only at the end."""
        ...

    async def write(self, at: int, data: bytes) -> int:
        """Write at `at`, growing the file; return the bytes taken, perhaps fewer than given."""
        ...

    async def flush(self) -> None:
        """Return once everything written is on the medium."""
        ...

    async def truncate(self, size: int) -> None:
        """Cut the file to `size` bytes."""
        ...

    async def renew(self) -> None:
        """Open it afresh after a failure, still as the one writer.

        What was written and not flushed may be gone. Raises also StoreBusy, and StorageLost when
        the file itself is gone.
        """
        ...

    async def close(self) -> None:
        """Release the file; a second call does nothing."""
        ...


class Folder(Protocol):
    """A place for the files of one store."""

    @property
    def kind(self) -> str:
        """Which backend this is: opfs, idb, file or memory."""
        ...

    async def open(self, name: str, *, writable: bool) -> ByteFile:
        """Open a file, creating it when `writable`.

        Raises
        ------
        StoreBusy
            Another writer has it open (only when `writable`).
        StorageFailed
            It cannot be opened, or does not exist and is opened for reading.
        """
        ...

    async def names(self) -> tuple[str, ...]:
        """Return the names of the files, sorted."""
        ...

    async def remove(self, name: str) -> None:
        """Remove a file that nobody has open."""
        ...


OpenFolder = Callable[[], Awaitable[Folder]]
"""Opens a backend, or raises StorageUnavailable when it does not work here."""


def copy_name(offset: int, data: bytes) -> str:
    """Return the name under which damaged bytes are kept."""
    return f"quarantine-{offset}-{len(data)}-{zlib.crc32(data):08x}"


async def keep_copy(folder: Folder, offset: int, data: bytes) -> tuple[str, bool]:
    """Keep damaged bytes under a name made from their place and content.

    The same damage met again at the next start is therefore the same file.

    Returns
    -------
    tuple of str and bool
        The file's name, and whether it was there already.

    Raises
    ------
    StorageFailed
        The copy could not be made; the caller must then leave the original as it is.
    """
    name = copy_name(offset, data)
    known = name in await folder.names()
    file = await folder.open(name, writable=True)
    try:
        if known and await file.size() == len(data):
            return name, True
        await write_all(file, 0, data)
        await file.flush()
    finally:
        await file.close()
    return name, False


async def read_whole(file: ByteFile) -> bytes:
    """Return all bytes of an open file."""
    return await file.read(0, await file.size())


async def write_all(file: ByteFile, at: int, data: bytes) -> None:
    """Write all of `data`, in several writes where one takes only a part.

    Raises
    ------
    StorageFull, StorageFailed
        A write was refused, or took nothing. That alone is not taken for a full storage: only the
        storage itself can know, and it says so.
    """
    done = 0
    while done < len(data):
        taken = await file.write(at + done, data[done:])
        if taken <= 0:
            raise StorageFailed(operation="write", wanted=len(data), written=done)
        done += taken


async def rewrite(file: ByteFile, data: bytes) -> None:
    """Put `data` in place of all that an open file holds, on the medium."""
    await file.truncate(0)
    await write_all(file, 0, data)
    await file.flush()


async def read_file(folder: Folder, name: str) -> bytes:
    """Return all bytes of a file; raises StorageFailed."""
    file = await folder.open(name, writable=False)
    try:
        return await read_whole(file)
    finally:
        await file.close()


async def write_file(folder: Folder, name: str, data: bytes) -> None:
    """Write a file whole and read it back; raises also StorageFailed where it came back other."""
    file = await folder.open(name, writable=True)
    try:
        await rewrite(file, data)
    finally:
        await file.close()
    if await read_file(folder, name) != data:
        raise StorageFailed(operation="verify", file=name)


class ReadOnlyBytes:
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

    async def renew(self) -> None:
        """Refuse."""
        raise StorageFailed(operation="renew", file=self._name)

    async def close(self) -> None:
        """Nothing is held."""


TRIAL: Final = "trial-"
_TRIAL_BYTES: Final = b"written, flushed and read back"


async def try_out(folder: Folder, store_name: str) -> None:
    """Write, flush and read back, unless a store is there already: then opening it is the trial.

    Raises
    ------
    StorageUnavailable
        What was written did not come back.
    """
    if store_name in await folder.names():
        return
    # Two windows may try at once: on one file, each would find the other's trial failing.
    name = TRIAL + secrets.token_hex(8)
    try:
        file = await folder.open(name, writable=True)
        try:
            await write_all(file, 0, _TRIAL_BYTES)
            await file.flush()
            await file.renew()
            found = await file.read(0, len(_TRIAL_BYTES))
        finally:
            await file.close()
        await folder.remove(name)
    except (StorageFailed, StoreBusy) as error:
        raise StorageUnavailable(backend=folder.kind, reason=str(error)) from error
    if found != _TRIAL_BYTES:
        raise StorageUnavailable(backend=folder.kind, reason="what was written did not come back")
