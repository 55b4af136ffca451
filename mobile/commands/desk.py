"""What the parts of the store may do with it."""

from contextlib import AbstractContextManager
from datetime import datetime
from typing import Protocol

from engine.errors import EngineError
from mobile.state.snapshot import Snapshot, Tone
from mobile.storage.errors import AppError
from mobile.texts.app import TEXTS


class Desk(Protocol):
    """The store, as its own parts see it."""

    snapshot: Snapshot

    def now(self) -> datetime:
        """Return the present time of the phone's clock, with its zone."""
        ...

    def refresh(self) -> None:
        """Read the log again and decide again."""
        ...

    def say(self, tone: Tone, text: str) -> None:
        """Show a sentence over the screens."""
        ...

    def working(self) -> AbstractContextManager[None]:
        """Hold updates back while something is being saved."""
        ...

    async def describe_storage(self) -> None:
        """Take the facts about the storage into the snapshot."""
        ...

    async def publish(self) -> None:
        """Give the emergency card its figures."""
        ...

    async def after_save(self) -> None:
        """Do what follows a save of the keeper's own records."""
        ...


def sentence(error: Exception) -> str:
    """Return the sentence of an error."""
    print(f"told: {error}")  # for developers
    if isinstance(error, AppError):
        return TEXTS.get(error.code, TEXTS["app_error"])
    return TEXTS["record_refused" if isinstance(error, EngineError) else "app_error"]
