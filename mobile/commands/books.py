"""The records that are open: the keeper's own and, while it is looked at, the demo's."""

from collections.abc import Awaitable, Callable, Mapping, Sequence
from datetime import datetime
from typing import Any, Protocol

from engine.log.record_codec import from_dict
from engine.log.row import Row, put_in
from engine.records import Record
from mobile.storage.repository import Repository

OpenDemo = Callable[[datetime], Awaitable[Repository]]


class OpenKept(Protocol):
    """Opens the keeper's own records."""

    async def __call__(self, *, discard_unreadable: bool = False) -> Repository:
        """Open them; with `discard_unreadable` begin anew where nothing can be read."""
        ...


class Book:
    """An open repository, with its records as objects."""

    def __init__(self, repository: Repository) -> None:
        self.repository = repository
        self._decoded: dict[str, tuple[Mapping[str, Any], Record]] = {}
        self._read: Sequence[Mapping[str, Any]] = ()
        self._records: Row[Record] = Row()

    def records(self) -> Row[Record]:
        """Return every record as written; records never change, so each is read once."""
        data = self.repository.records()
        if data is not self._read:
            where = put_in(self._read, data)
            if where is None:
                self._records = Row(map(self._record, data))
            else:
                new = map(self._record, data[where])
                self._records = self._records.put(where.start, new)
            self._read = data
        return self._records

    def _record(self, data: Mapping[str, Any]) -> Record:
        known = self._decoded.get(data["id"])
        if known is None or known[0] is not data:  # after erasing, an id may come back as another
            known = self._decoded[data["id"]] = (data, from_dict(data))
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
