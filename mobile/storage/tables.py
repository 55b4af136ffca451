"""TinyDB whose tables change in place, so that one more record costs the same in any log.

Stock TinyDB reads, converts and writes every document at each change. Here the storage *is* the
dictionary, and a table's update works on an overlay of it: only the documents that it touches are
copied, and only they are put back, all or none. Searching is TinyDB's own.
"""

from collections.abc import Callable, Generator, Iterable, Iterator, Mapping, MutableMapping
from contextlib import contextmanager
from copy import deepcopy
from typing import Any, cast

from tinydb import TinyDB
from tinydb.storages import Storage
from tinydb.table import Document, Table

from mobile.storage.errors import StoreReadOnly

Documents = dict[str, dict[str, Any]]


class LiveStorage(Storage):
    """The tables themselves; changed only inside `changing()`, which the repository holds.

    Attributes
    ----------
    touched : int
        Documents that changes have read or written so far.
    """

    def __init__(self) -> None:
        self._tables: dict[str, Documents] = {}
        self._changing = False
        self.touched = 0

    def read(self) -> dict[str, Documents]:
        """Return the live tables."""
        return self._tables

    def write(self, data: dict[str, dict[str, Any]]) -> None:
        """Replace all tables: what TinyDB's drop_table and drop_tables do."""
        self.check_changing()
        self._tables = data

    def documents(self, name: str) -> Documents:
        """Return the live documents of a table."""
        return self._tables.setdefault(name, {})

    def check_changing(self) -> None:
        """Refuse a change that does not come through the journal."""
        if not self._changing:
            raise StoreReadOnly(reason="outside_the_journal")

    @contextmanager
    def changing(self) -> Generator[None]:
        """Allow changes for what is already in the journal."""
        self._changing = True
        try:
            yield
        finally:
            self._changing = False


class _Overlay(MutableMapping[str, dict[str, Any]]):
    """Changes to a table's documents, apart from it until they are put back."""

    def __init__(self, below: Documents) -> None:
        self._below = below
        self._changed: Documents = {}
        self._removed: set[str] = set()

    def __getitem__(self, key: str) -> dict[str, Any]:
        if key in self._removed:
            raise KeyError(key)
        if key not in self._changed:
            self._changed[key] = deepcopy(self._below[key])
        return self._changed[key]

    def __setitem__(self, key: str, value: dict[str, Any]) -> None:
        self._removed.discard(key)
        self._changed[key] = value

    def __delitem__(self, key: str) -> None:
        if key not in self:
            raise KeyError(key)
        self._changed.pop(key, None)
        self._removed.add(key)

    def __contains__(self, key: object) -> bool:
        return key not in self._removed and (key in self._changed or key in self._below)

    def __iter__(self) -> Iterator[str]:
        yield from (key for key in self._below if key not in self._removed)
        yield from [key for key in self._changed if key not in self._below]

    def __len__(self) -> int:
        return sum(1 for _ in self)

    def put_back(self) -> int:
        """Apply the changes to the table; return how many documents they touched."""
        for key in self._removed:
            self._below.pop(key, None)
        self._below.update(self._changed)
        return len(self._removed) + len(self._changed)


class LiveTable(Table):
    """A TinyDB table over `LiveStorage`; a document's id is the record's own."""

    document_id_class = str  # pyright: ignore[reportAssignmentType] - TinyDB allows any class

    def put(self, documents: Documents) -> None:
        """Set documents by id."""
        self.drop([key for key in documents if key in self.live.documents(self.name)])
        self.insert_multiple(  # pyright: ignore[reportUnknownMemberType]
            Document(item, _untyped(key)) for key, item in documents.items()
        )

    def drop(self, keys: Iterable[str]) -> None:
        """Remove the documents of some ids; those that are not there are passed over."""
        self.remove(doc_ids=map(_untyped, keys))

    @property
    def live(self) -> LiveStorage:
        """The storage, typed."""
        return cast("LiveStorage", self._storage)

    def _update_table(self, updater: Callable[[dict[int, Mapping[str, Any]]], None]) -> None:
        self.live.check_changing()
        overlay = _Overlay(self.live.documents(self.name))
        updater(cast("dict[int, Mapping[str, Any]]", overlay))
        self.live.touched += overlay.put_back()
        self.clear_cache()

    def _get_next_id(self) -> int:
        raise ValueError("a document of this store brings its own id: insert a Document")


class RecordDB(TinyDB):
    """TinyDB with live tables; query it freely, write through the repository only."""

    table_class = LiveTable
    default_storage_class = LiveStorage
    default_table_name = "records"

    @property
    def live(self) -> LiveStorage:
        """The storage, typed."""
        return cast("LiveStorage", self.storage)

    def live_table(self, name: str) -> LiveTable:
        """Return a table, typed."""
        return cast("LiveTable", self.table(name))  # pyright: ignore[reportUnknownMemberType]


def _untyped(key: str) -> Any:
    """Return a document's id for TinyDB, which types ids as int and takes any."""
    return key
