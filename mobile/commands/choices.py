"""App state beside the records: the half-finished set-up, the unit, the system shown."""

from collections.abc import Mapping
from typing import Any, Final

from mobile.commands.books import Books
from mobile.commands.desk import Desk, sentence
from mobile.storage.errors import AppError

META_SYSTEM: Final = "system"
META_SETUP_DRAFT: Final = "setup_draft"
META_UNIT: Final = "alkalinity_unit"


class Choices:
    """The store's part for what is chosen, not recorded."""

    def __init__(self, desk: Desk, books: Books) -> None:
        self._desk = desk
        self._books = books

    def system(self) -> str:
        """Return the system chosen last, or nothing."""
        return str(self._books.current.repository.meta(META_SYSTEM) or "")

    def unit(self) -> str:
        """Return the unit in which alkalinity is shown."""
        return str(self._books.current.repository.meta(META_UNIT) or "dKH")

    def setup_draft(self) -> dict[str, Any]:
        """Return the half-finished set-up, or an empty one."""
        return dict(self._books.current.repository.meta(META_SETUP_DRAFT) or {})

    async def keep_setup_draft(self, draft: Mapping[str, Any]) -> bool:
        """Keep a half-finished set-up, so that a killed app goes on with it; True once kept."""
        return await self._put(META_SETUP_DRAFT, dict(draft))

    async def choose_unit(self, unit: str) -> None:
        """Show alkalinity in another unit from now on."""
        if await self._put(META_UNIT, unit):
            self._desk.refresh()

    async def choose_system(self, system: str) -> None:
        """Turn to another system; the emergency card names it first."""
        if await self._put(META_SYSTEM, system):
            self._desk.refresh()
            await self._desk.publish()

    async def _put(self, key: str, value: Any) -> bool:
        """Save a piece of app state; says so and returns False when that fails."""
        with self._desk.working():
            try:
                await self._books.current.repository.put_meta(key, value)
            except AppError as error:
                self._desk.say("danger", sentence(error))
                return False
        return True
