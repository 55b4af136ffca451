"""A store in memory: for a browser that keeps nothing. It is gone with the page."""

from dataclasses import dataclass, field

from mobile.storage.backend import ByteFile
from mobile.storage.errors import StorageFailed, StoreBusy


@dataclass(slots=True)
class MemoryFile:
    """Bytes of a `MemoryFolder`, open."""

    folder: "MemoryFolder"
    name: str
    writable: bool
    is_open: bool = True

    async def size(self) -> int:
        """Return the length in bytes."""
        return len(self._bytes())

    async def read(self, at: int, count: int) -> bytes:
        """Return up to `count` bytes from `at` on."""
        return bytes(self._bytes()[at : at + count])

    async def write(self, at: int, data: bytes) -> int:
        """Write at `at`; a gap before it is filled with zeros."""
        stored = self._bytes(to_write=True)
        if at > len(stored):
            stored.extend(bytes(at - len(stored)))
        stored[at : at + len(data)] = data
        return len(data)

    async def flush(self) -> None:
        """Memory needs none."""
        self._bytes(to_write=True)

    async def truncate(self, size: int) -> None:
        """Cut to `size` bytes."""
        del self._bytes(to_write=True)[size:]

    async def renew(self) -> None:
        """Memory needs none."""

    async def close(self) -> None:
        """Let another writer in."""
        if self.is_open and self.writable:
            self.folder.writers.discard(self.name)
        self.is_open = False

    def _bytes(self, *, to_write: bool = False) -> bytearray:
        if not self.is_open or (to_write and not self.writable):
            raise StorageFailed(operation="use", file=self.name)
        return self.folder.files[self.name]


@dataclass(slots=True)
class MemoryFolder:
    """Files in memory, one writer each."""

    files: dict[str, bytearray] = field(default_factory=dict[str, bytearray])
    writers: set[str] = field(default_factory=set[str])

    @property
    def kind(self) -> str:
        """Which backend this is."""
        return "memory"

    async def open(self, name: str, *, writable: bool) -> ByteFile:
        """Open a file, creating it when `writable`."""
        if writable:
            if name in self.writers:
                raise StoreBusy(file=name)
            self.writers.add(name)
            self.files.setdefault(name, bytearray())
        elif name not in self.files:
            raise StorageFailed(operation="open", file=name)
        return MemoryFile(self, name, writable)

    async def names(self) -> tuple[str, ...]:
        """Return the names of the files, sorted."""
        return tuple(sorted(self.files))

    async def remove(self, name: str) -> None:
        """Remove a file that nobody has open."""
        if self.files.pop(name, None) is None:
            raise StorageFailed(operation="remove", file=name)


async def memory_folder() -> MemoryFolder:
    """Open an empty store in memory; as the last backend of `open_repository`."""
    return MemoryFolder()
