"""Working out what could go wrong, outside the way of a save."""

import asyncio
from dataclasses import replace
from typing import Final

from mobile.state.dangers import DangerBook, key_of
from mobile.state.snapshot import Snapshot

# Turns of the event loop in which what was just said goes to the screen.
_TURNS: Final = 8


async def drawn() -> None:
    """Wait until what the snapshot says now was sent to the screen."""
    for _ in range(_TURNS):
        await asyncio.sleep(0)


class Danger:
    """What is known of the hazards of each system."""

    def __init__(self) -> None:
        self.book = DangerBook()

    def recalled(self, snapshot: Snapshot) -> Snapshot:
        """Return the snapshot with its dangers if they are known already, else without any."""
        key = key_of(snapshot.standing, snapshot.setup, snapshot.system, snapshot.now)
        return replace(snapshot, dangers=self.book.known(key, snapshot.system))

    def weighed(self, snapshot: Snapshot) -> Snapshot:
        """Return the snapshot with its dangers, worked out where they are not known."""
        if snapshot.setup is None or snapshot.is_elsewhere:
            return replace(snapshot, dangers=None)
        key = key_of(snapshot.standing, snapshot.setup, snapshot.system, snapshot.now)
        found = self.book.work_out(snapshot.records, key, snapshot.system, snapshot.now)
        return replace(snapshot, dangers=found)
