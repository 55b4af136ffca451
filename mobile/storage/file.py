"""A store in a folder on a disk, for runs with Python on the host.

`flush` is fsync; a new file's entry in its folder is synced too. The writer holds a lock of the
operating system, which a killed process gives back.
"""

import errno
import os
import sys
from collections.abc import Generator
from contextlib import contextmanager
from io import FileIO
from pathlib import Path

from mobile.storage.backend import ByteFile, OpenFolder
from mobile.storage.errors import (
    StorageFailed,
    StorageFull,
    StorageUnavailable,
    StoreBusy,
)

if sys.platform == "win32":
    import msvcrt

    def _lock(file: FileIO) -> None:
        # Far behind any content: Windows also keeps readers out of a locked range.
        file.seek(1 << 40)
        msvcrt.locking(file.fileno(), msvcrt.LK_NBLCK, 1)
else:
    import fcntl

    def _lock(file: FileIO) -> None:
        fcntl.flock(file.fileno(), fcntl.LOCK_EX | fcntl.LOCK_NB)


_NO_ROOM = (errno.ENOSPC, errno.EDQUOT, errno.EFBIG)


@contextmanager
def _translated(operation: str, name: str) -> Generator[None]:
    """Turn the operating system's errors, and the use of a closed file, into ours."""
    try:
        yield
    except OSError as error:
        kind = StorageFull if error.errno in _NO_ROOM else StorageFailed
        raise kind(operation=operation, file=name, reason=str(error)) from error
    except ValueError as error:
        raise StorageFailed(operation=operation, file=name, reason=str(error)) from error


class DiskFile:
    """An open file on a disk, unbuffered."""

    def __init__(self, folder: "DiskFolder", file: FileIO, name: str) -> None:
        self._folder = folder
        self._file = file
        self._name = name

    async def size(self) -> int:
        """Return the length in bytes."""
        with _translated("size", self._name):
            return os.fstat(self._file.fileno()).st_size

    async def read(self, at: int, count: int) -> bytes:
        """Return up to `count` bytes from `at` on."""
        parts: list[bytes] = []
        with _translated("read", self._name):
            self._file.seek(at)
            while count > 0 and (part := self._file.read(count)):
                parts.append(part)
                count -= len(part)
        return b"".join(parts)

    async def write(self, at: int, data: bytes) -> int:
        """Write at `at`; return the bytes taken."""
        written = 0
        with _translated("write", self._name):
            self._file.seek(at)
            while written < len(data):
                taken = self._file.write(data[written:])
                if not taken:
                    break
                written += taken
        return written

    async def flush(self) -> None:
        """Return once the bytes are on the disk."""
        with _translated("flush", self._name):
            os.fsync(self._file.fileno())

    async def truncate(self, size: int) -> None:
        """Cut to `size` bytes."""
        with _translated("truncate", self._name):
            self._file.truncate(size)

    async def renew(self) -> None:
        """Open the file afresh, and take its lock again."""
        await self.close()
        self._file = self._folder.open_file(self._name, writable=True)

    async def close(self) -> None:
        """Release the file and its lock."""
        with _translated("close", self._name):
            self._file.close()


class DiskFolder:
    """A folder on a disk."""

    def __init__(self, path: Path) -> None:
        self._path = path

    @property
    def kind(self) -> str:
        """Which backend this is."""
        return "file"

    async def open(self, name: str, *, writable: bool) -> ByteFile:
        """Open a file, creating it when `writable`."""
        return DiskFile(self, self.open_file(name, writable=writable), name)

    def open_file(self, name: str, *, writable: bool) -> FileIO:
        """Return the operating system's file, locked when `writable`; raises as `open` does."""
        path = self._path / name
        with _translated("open", name):
            is_new = not path.exists()
            file = FileIO(path, ("x+" if is_new else "r+") if writable else "r")
        if writable:
            try:
                _lock(file)
            except OSError as error:
                file.close()
                raise StoreBusy(file=name) from error
        if is_new:
            self._sync_entries()
        return file

    async def names(self) -> tuple[str, ...]:
        """Return the names of the files, sorted."""
        with _translated("list", str(self._path)):
            return tuple(sorted(entry.name for entry in self._path.iterdir() if entry.is_file()))

    async def remove(self, name: str) -> None:
        """Remove a file that nobody has open."""
        with _translated("remove", name):
            (self._path / name).unlink()
        self._sync_entries()

    def _sync_entries(self) -> None:
        if sys.platform == "win32":  # a folder cannot be opened there; NTFS logs its entries
            return
        with _translated("flush", str(self._path)):
            descriptor = os.open(self._path, os.O_RDONLY)
            try:
                os.fsync(descriptor)
            finally:
                os.close(descriptor)


def disk_folder(path: Path) -> OpenFolder:
    """Return what opens a store in a folder, creating the folder.

    The opener raises StorageUnavailable when the folder cannot be made.
    """

    async def open_folder() -> DiskFolder:
        _make(path)
        return DiskFolder(path)

    return open_folder


def _make(path: Path) -> None:
    try:
        path.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise StorageUnavailable(backend="file", reason=str(error)) from error
