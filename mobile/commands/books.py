"""The records that are open: the keeper's own and, while it is looked at, the demo's."""

from collections.abc import Awaitable, Callable, Iterable, Mapping, Sequence
from datetime import datetime
from typing import Any, Protocol

from engine.log.record_codec import from_dict
from engine.log.row import Row, put_in
from engine.records import Record
from mobile.state.boundary import tried
from mobile.storage.repository import Repository

OpenDemo = Callable[[datetime], Awaitable[Repository]]


class OpenKept(Protocol):
    """Opens the keeper's own records."""

    async def __call__(self, *, discard_unreadable: bool = False) -> Repository:
        """Open them; with `discard_unreadable` begin anew where nothing can be read."""
        ...


class Book:
    """An open repository, with its records as objects.

    What cannot be decoded is set aside: it stays where it is stored, and is exported.
    """

    def __init__(self, repository: Repository) -> None:
        self.repository = repository
        self._decoded: dict[str, tuple[Mapping[str, Any], Record | None]] = {}
        self._read: Sequence[Mapping[str, Any]] = ()
        self._records: Row[Record] = Row()
        self._unread: list[str] = []

    def records(self) -> Row[Record]:
        """Return every record as written; records never change, so each is read once."""
        data = self.repository.records()
        if data is not self._read:
            where = None if self._unread else put_in(self._read, data)
            if where is None:
                self._unread = []
                self._records = Row(self._decode(data))
            else:
                new = Row(self._decode(data[where]))
                self._records = self._records.put(where.start, new)
            self._read = data
        return self._records

    @property
    def unread(self) -> tuple[str, ...]:
        """The ids of the records that this build cannot read."""
        return tuple(self._unread)

    def _decode(self, data: Iterable[Mapping[str, Any]]) -> list[Record]:
        found: list[Record] = []
        for each in data:
            record = self._record(each)
            if record is None:
                self._unread.append(str(each.get("id", "")))
            else:
                found.append(record)
        return found

    def _record(self, data: Mapping[str, Any]) -> Record | None:
        name = str(data.get("id", ""))
        known = self._decoded.get(name)
        if known is None or known[0] is not data:  # after erasing, an id may come back as another
            record = tried("record", lambda: from_dict(data), None)
            known = self._decoded[name] = (data, record)
        return known[1]


class Books:
    """The keeper's own book and the demo's; the demo's lies on top."""

    def __init__(self, open_kept: OpenKept, open_demo: OpenDemo) -> None:
        self._open_kept = open_kept
        self._open_demo = open_demo
        self.kept: Book | None = None
        self.demo: Book | None = None

    @property
    def is_open(self) -> bool:
        """Whether there are records to show."""
        return self.demo is not None or self.kept is not None

    @property
    def current(self) -> Book:
        """What is shown and written to now."""
        book = self.demo or self.kept
        if book is None:
            raise RuntimeError("the store was not started")
        return book

    async def open(self, *, discard_unreadable: bool = False) -> None:
        """Open the keeper's own records; raises `AppError`."""
        self.kept = Book(await self._open_kept(discard_unreadable=discard_unreadable))

    async def reopen(self) -> None:
        """Close the keeper's own records and open them again; raises `AppError`.

        When that fails what was read before stays shown, and nothing can be saved.
        """
        if self.kept is not None:
            await self.kept.repository.close()
        await self.open()

    async def enter_demo(self, now: datetime) -> None:
        """Lay a fresh demo on top."""
        self.demo = Book(await self._open_demo(now))

    async def leave_demo(self) -> None:
        """Put the demo away."""
        demo, self.demo = self.demo, None
        if demo is not None:
            await demo.repository.close()
