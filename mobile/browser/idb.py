"""A store in IndexedDB, for browsers without OPFS: the same bytes, kept as rows of each file.

A row is what one write appended, under the file's name and the byte where it starts. Writes wait in
memory until `flush`, which is one transaction of strict durability, done when `oncomplete` comes.
Each such transaction first checks that the file is still ours: whoever opens it for writing leaves
a mark of its own, so that two pages can never both write, even where there are no Web Locks.
"""

import bisect
import secrets
from collections.abc import Callable
from typing import Any, Final

import js  # pyright: ignore[reportMissingImports]
from pyodide.ffi import JsException, create_proxy, to_js  # pyright: ignore[reportMissingImports]

from mobile.browser.bridge import lock_writer, translated
from mobile.browser.idb_connection import FILES, ROWS, Connection, Transaction
from mobile.browser.names import SHARED, own_name
from mobile.browser.places import NAME
from mobile.browser.weblock import WebLock
from mobile.storage.backend import ByteFile, ReadOnlyBytes, try_out
from mobile.storage.errors import (
    AppError,
    StorageFailed,
    StorageLost,
    StorageUnavailable,
    StoreBusy,
)
from mobile.storage.journal import JOURNAL_NAME

BOTH: Final = (ROWS, FILES)


def _key(name: str, start: float) -> Any:
    # As a float: Pyodide makes a BigInt of a large whole number, which is no key.
    return to_js([name, float(start)])


def _range(name: str, first: int = 0, last: float = 1e15) -> Any:
    """Return the keys of a file's rows that start from `first` up to and with `last`."""
    return js.IDBKeyRange.bound(_key(name, first), _key(name, last))


def _bytes(rows: Any) -> list[bytes]:
    return [row.to_bytes() for row in rows]


class IdbFile:
    """A file open for writing."""

    def __init__(
        self, folder: "IdbFolder", name: str, lock: WebLock | None, mark: str, layout: "Layout"
    ) -> None:
        self._folder = folder
        self._name = name
        self._lock = lock
        self._mark = mark
        self._starts, self._size = layout
        self._waiting: dict[int, bytes | None] = {}  # rows to put, or to remove

    async def size(self) -> int:
        """Return the length in bytes."""
        return self._size

    async def read(self, at: int, count: int) -> bytes:
        """Return up to `count` bytes from `at` on."""
        end = min(at + count, self._size)
        if at >= end:
            return b""
        rows = await self._rows(at, end)
        first = min(rows)
        return b"".join(rows[start] for start in sorted(rows))[at - first : end - first]

    async def write(self, at: int, data: bytes) -> int:
        """Write at `at`, growing the file; it is kept by the next flush."""
        self._append(bytes(max(0, at - self._size)))
        inside = data[: self._size - at]
        if inside:
            for start, row in (await self._rows(at, at + len(inside))).items():
                low, high = max(at, start), min(at + len(inside), start + len(row))
                changed = row[: low - start] + inside[low - at : high - at] + row[high - start :]
                self._waiting[start] = changed
        self._append(data[len(inside) :])
        return len(data)

    async def flush(self) -> None:
        """Return once the bytes are on the medium."""
        waiting = dict(self._waiting)
        if not waiting:
            return

        def put_all(transaction: Transaction) -> None:
            rows = transaction.store(ROWS)
            for start, data in waiting.items():
                key = _key(self._name, start)
                if data is None:
                    transaction.request(rows.delete, key)
                else:
                    transaction.request(rows.put, to_js(data), key)

        await self._folder.change(self._name, self._mark, put_all)
        self._waiting = {}

    async def truncate(self, size: int) -> None:
        """Cut to `size` bytes; it is kept by the next flush."""
        self._append(bytes(max(0, size - self._size)))
        kept = bisect.bisect_left(self._starts, size)
        if size < self._size and kept and self._end_of(kept - 1) > size:
            start = self._starts[kept - 1]
            self._waiting[start] = (await self._rows(start, start + 1))[start][: size - start]
        for start in self._starts[kept:]:
            self._waiting[start] = None
        del self._starts[kept:]
        self._size = size

    async def renew(self) -> None:
        """Forget the connection and what was not flushed; read the layout again."""
        self._folder.connection.drop()
        self._waiting = {}
        self._starts, self._size = await self._folder.layout(self._name)

    async def close(self) -> None:
        """Release the file, and its lock; what waits is written if that still works."""
        try:
            await self.flush()
        except AppError as error:
            print(f"close: {error}")  # nothing of it was acknowledged
        self._mark = ""
        self._folder.writers.discard(self._name)
        if self._lock is not None:
            self._lock.release()

    def _append(self, data: bytes) -> None:
        if data:
            self._starts.append(self._size)
            self._waiting[self._size] = data
            self._size += len(data)

    def _end_of(self, index: int) -> int:
        return self._starts[index + 1] if index + 1 < len(self._starts) else self._size

    async def _rows(self, at: int, end: int) -> dict[int, bytes]:
        """Return the rows that hold bytes from `at` up to, not including, `end`."""
        first = bisect.bisect_right(self._starts, at) - 1
        starts = self._starts[first : bisect.bisect_left(self._starts, end)]
        rows = {start: self._waiting[start] for start in starts if start in self._waiting}
        if len(rows) < len(starts):
            rows = await self._folder.rows(self._name, starts[0], starts[-1]) | rows
        found = {start: row for start in starts if (row := rows.get(start)) is not None}
        if len(found) != len(starts):
            raise StorageFailed(operation="read", file=self._name, reason="a row is missing")
        return found


Layout = tuple[list[int], int]
"""Where the rows of a file start, ascending, and its length."""


class IdbFolder:
    """The app's files in IndexedDB."""

    def __init__(self, connection: Connection) -> None:
        self.connection = connection
        self.writers: set[str] = set()  # files open for writing in this very page

    @property
    def kind(self) -> str:
        """Which backend this is."""
        return "idb"

    async def open(self, name: str, *, writable: bool) -> ByteFile:
        """Open a file, creating it when `writable`."""
        if not writable:
            return await self._copy(name)
        if name in self.writers:
            raise StoreBusy(file=name)
        is_journal = name == JOURNAL_NAME
        with translated("lock", name):
            shared = self.connection.name
            lock = await lock_writer(shared if is_journal else f"{shared}/{name}")
        try:
            mark = secrets.token_hex(8)
            await self.connection.run(
                BOTH, "readwrite", lambda t: t.request(t.store(FILES).put, mark, name)
            )
            layout = await self.layout(name)
        except BaseException:
            if lock is not None:
                lock.release()
            raise
        self.writers.add(name)
        return IdbFile(self, name, lock, mark, layout)

    async def names(self) -> tuple[str, ...]:
        """Return the names of the files, sorted."""
        keys = await self.connection.run(
            (FILES,), "readonly", lambda t: t.request(t.store(FILES).getAllKeys)
        )
        return tuple(sorted(str(key) for key in keys))

    async def remove(self, name: str) -> None:
        """Remove a file that nobody has open."""

        def remove_all(transaction: Transaction) -> None:
            transaction.request(transaction.store(ROWS).delete, _range(name))
            transaction.request(transaction.store(FILES).delete, name)

        await self.connection.run(BOTH, "readwrite", remove_all)

    async def rows(self, name: str, first: int, last: int) -> dict[int, bytes]:
        """Return the stored rows of a file that start from `first` up to and with `last`."""
        keys: list[Any] = []

        def fetch(transaction: Transaction) -> None:
            keys.clear()  # of a run before that was lost
            store = transaction.store(ROWS)
            transaction.request(store.getAllKeys, _range(name, first, last), into=keys)
            transaction.request(store.getAll, _range(name, first, last))

        values = await self.connection.run((ROWS,), "readonly", fetch)
        starts = [int(key[1]) for key in keys[0].to_py()]
        return dict(zip(starts, _bytes(values), strict=True))

    async def layout(self, name: str) -> Layout:
        """Return where the rows of a file start, and its length."""
        starts: list[int] = []

        def fetch(transaction: Transaction) -> None:
            rows = transaction.store(ROWS)

            def on_keys(keys: Any) -> None:
                starts[:] = [int(key[1]) for key in keys.to_py()]
                if starts:
                    transaction.request(rows.getAll, _range(name, starts[-1], starts[-1]))

            transaction.request(rows.getAllKeys, _range(name), then=on_keys)

        last = await self.connection.run((ROWS,), "readonly", fetch)
        return (starts, starts[-1] + len(_bytes(last)[0])) if starts else ([], 0)

    async def change(self, name: str, mark: str, work: Callable[[Transaction], None]) -> None:
        """Change a file's rows in one transaction, if the file is still ours; strict.

        Raises
        ------
        StoreBusy
            Another page opened it for writing since.
        StorageLost
            The file is gone: the browser cleared its storage.
        StorageFull, StorageFailed
            Nothing was changed.
        """

        def check_first(transaction: Transaction) -> None:
            def on_mark(found: Any) -> None:
                if mark and not found:
                    transaction.refuse(StorageLost(operation="flush", file=name))
                elif found != mark:
                    transaction.refuse(StoreBusy(file=name))
                else:
                    work(transaction)

            transaction.request(transaction.store(FILES).get, name, then=on_mark)

        await self.connection.run(BOTH, "readwrite", check_first)

    async def _copy(self, name: str) -> ReadOnlyBytes:
        mark: list[Any] = []

        def fetch(transaction: Transaction) -> None:
            mark.clear()
            transaction.request(transaction.store(FILES).get, name, into=mark)
            transaction.request(transaction.store(ROWS).getAll, _range(name))

        rows = await self.connection.run(BOTH, "readonly", fetch)
        if not mark[0]:
            raise StorageFailed(operation="open", file=name, reason="no such file")
        return ReadOnlyBytes(b"".join(_bytes(rows)), name)


async def idb_folder(base: str) -> IdbFolder:
    """Open a site's database after a trial of writing and reading back.

    Raises
    ------
    StorageUnavailable
        The browser has no IndexedDB here, or it does not keep what is written.
    """
    try:
        folder = IdbFolder(Connection(own_name(NAME, base), create_proxy))
        await try_out(folder, JOURNAL_NAME)
    except (JsException, AttributeError, TypeError, StorageFailed) as error:
        raise StorageUnavailable(backend="idb", reason=str(error)) from error
    return folder


async def shared_idb() -> IdbFolder | None:
    """Open the database that sites of every base once shared; None where there is none.

    Raises
    ------
    StorageFailed
        It cannot be looked for.
    """
    name = own_name(NAME, SHARED)
    with translated("look", name):
        # Without a list of them opening makes an empty one, which holds nothing for anybody.
        if hasattr(js.indexedDB, "databases"):
            listed = await js.indexedDB.databases()
            if name not in [str(each.name) for each in listed]:
                return None
    return IdbFolder(Connection(name, create_proxy))
