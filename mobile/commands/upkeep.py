"""The care of the store itself: reading all of it again, and erasing for good."""

from dataclasses import replace
from typing import Protocol

from mobile.commands.books import Books
from mobile.commands.choices import META_SETUP_DRAFT, META_SYSTEM
from mobile.commands.desk import Desk, sentence
from mobile.commands.keeping import META_EXPORTED_COUNT
from mobile.host import Host
from mobile.storage.errors import AppError, ErasureStands
from mobile.storage.repository import Repository
from mobile.texts.storage_page import TEXTS


class UpkeepDesk(Desk, Protocol):
    """The store, as this part sees it."""

    async def clear_card(self) -> None:
        """Take the systems' figures off the emergency card."""
        ...

    async def publish(self) -> None:
        """Give the emergency card the figures of every system."""
        ...

    def go_on(self, path: str) -> None:
        """Show another screen and keep the notice."""
        ...


class Upkeep:
    """The store's part for checking and erasing the keeper's own records, never the demo's."""

    def __init__(self, desk: UpkeepDesk, books: Books, host: Host) -> None:
        self._desk = desk
        self._books = books
        self._host = host

    async def check(self) -> None:
        """Read everything again and show what was found; nothing is changed."""
        desk, book = self._desk, self._books.kept
        if book is None or desk.snapshot.storage.checking:
            return
        storage = replace(desk.snapshot.storage, checking=True, check=None)
        desk.snapshot = replace(desk.snapshot, storage=storage)
        found = await book.repository.self_check()
        storage = replace(desk.snapshot.storage, checking=False, check=found)
        desk.snapshot = replace(desk.snapshot, storage=storage)

    async def erase(self, system: str | None) -> bool:
        """Erase a system, or everything with None, for good; False when it was not done."""
        desk, book = self._desk, self._books.kept
        if book is None or self._books.demo is not None or desk.snapshot.saving:
            return False
        desk.snapshot = replace(desk.snapshot, saving=True, notice=None)
        with desk.working():
            try:
                # First, so that "not erased" is true when it fails: what is here has all of it.
                is_cleared = await self._host.clear_shared_records()
                # Before the records: a cut on the way leaves none of their figures behind.
                await desk.clear_card()
                is_all = await _erase(book.repository, system)
            except ErasureStands as error:
                await desk.clear_card()  # something may have published meanwhile
                desk.say("danger", sentence(error))
                return False
            except AppError as error:
                desk.say("danger", f"{TEXTS['not_erased']} {sentence(error)}")
                await desk.publish()
                return False
            finally:
                await desk.describe_storage()
                desk.refresh()
            desk.go_on("/")
            said = "erased_all" if system is None else "erased_system"
            desk.say("good", TEXTS[_what_is_left(said, is_cleared=is_cleared, is_all=is_all)])
            await desk.after_save()
        return True


def _what_is_left(said: str, *, is_cleared: bool, is_all: bool) -> str:
    if not is_cleared:
        return "shared_left"
    return said if is_all else "copy_left"


async def _erase(repository: Repository, system: str | None) -> bool:
    erased = len(repository.records(system))
    forget = [META_SETUP_DRAFT]  # it may be of this system, and names people
    if repository.meta(META_SYSTEM) == system:
        forget.append(META_SYSTEM)
    is_all = await repository.erase(system, forget=forget)
    exported = repository.meta(META_EXPORTED_COUNT)
    if exported:
        await repository.put_meta(META_EXPORTED_COUNT, max(0, int(exported) - erased))
    return is_all
