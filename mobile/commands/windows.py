"""Several windows on one store: one writes, the others read, follow, and can take over."""

import asyncio
from typing import Any, Final, Protocol

from mobile.commands.books import Books
from mobile.commands.desk import Desk, sentence
from mobile.host import Host
from mobile.state.boundary import contained
from mobile.storage.errors import AppError, StorageFailed, StoreBusy
from mobile.texts.app import TEXTS

SAVED: Final = "saved"  # the writer has saved something
WANT: Final = "want"  # a window asks the writer to let go
GIVEN: Final = "given"  # the writer has let go
PATIENCE_S: Final = 3.0
# To open these again by itself would take what can still be exported.
_LEFT_ALONE: Final = ("storage_lost", "erasure_stands")


class Desktop(Desk, Protocol):
    """The store, as this part sees it."""

    async def reopen(self) -> None:
        """Close the keeper's records and open them again; raises `AppError`."""
        ...


class Windows:
    """The store's part for other windows, and for coming back after a pause."""

    def __init__(self, desk: Desktop, books: Books, host: Host) -> None:
        self._desk = desk
        self._books = books
        self._host = host
        self._given = asyncio.Event()

    def saved(self) -> None:
        """Tell the other windows that there is something new."""
        self._host.tell_windows(SAVED)

    @contained("windows")
    async def heard(self, word: str) -> None:
        """Act on what another window says."""
        book = self._books.kept
        if book is None:
            return
        blocked = book.repository.blocked
        if word == SAVED and isinstance(blocked, StoreBusy):
            await self.follow()
        elif word == WANT and blocked is None:
            await book.repository.hand_over()
            self._host.tell_windows(GIVEN)
            await self._show()
        elif word == GIVEN:
            self._given.set()

    async def follow(self) -> None:
        """Read on in a window that only reads; where that fails, read everything again."""
        book = self._books.kept
        if book is None:
            return
        try:
            if not await book.repository.follow():
                return
        except StorageFailed:
            await self._reopen()
        await self._show()

    @contained("windows")
    async def use_here(self, _event: Any = None) -> None:
        """Become the window that writes: the other one is asked to let go."""
        desk, book = self._desk, self._books.kept
        if book is None or not isinstance(book.repository.blocked, StoreBusy):
            return
        self._given.clear()
        self._host.tell_windows(WANT)
        try:
            await asyncio.wait_for(self._given.wait(), PATIENCE_S)
        except TimeoutError:
            print("windows: none answered")  # it may be gone: opening finds out
        await self._reopen()
        await self._show()
        now = self._books.kept
        taken = now is not None and now.repository.blocked is None
        desk.say("good" if taken else "warn", TEXTS["used_here" if taken else "not_used_here"])

    @contained("windows")
    async def wake(self) -> None:
        """Come back to the front: read on, or open again what a pause has broken."""
        book = self._books.kept
        if book is None or self._desk.snapshot.saving:
            return
        blocked = book.repository.blocked
        if isinstance(blocked, StoreBusy):
            await self.follow()
        elif isinstance(blocked, StorageFailed) and blocked.code not in _LEFT_ALONE:
            await self._reopen()
            await self._show()

    async def _reopen(self) -> None:
        try:
            await self._desk.reopen()
        except AppError as error:
            self._desk.say("danger", sentence(error))

    async def _show(self) -> None:
        await self._desk.describe_storage()
        self._desk.refresh()
