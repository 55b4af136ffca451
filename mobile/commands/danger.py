"""Working out what could go wrong, outside the way of a save."""

import asyncio
from collections.abc import Hashable
from dataclasses import replace
from typing import Final

from mobile.state.boundary import tried
from mobile.state.dangers import DangerBook, key_of
from mobile.state.snapshot import Snapshot
from mobile.state.updates import with_dangers_failed

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
        key = self._key(snapshot)
        if key is None or self.book.has_failed(key, snapshot.system):
            return with_dangers_failed(snapshot)
        return replace(snapshot, dangers=self.book.known(key, snapshot.system))

    def wants_weighing(self, snapshot: Snapshot) -> bool:
        """Tell whether the dangers are to be worked out, and were not tried in vain."""
        if snapshot.setup is None or snapshot.dangers is not None:
            return False
        key = self._key(snapshot)
        return key is not None and not self.book.has_failed(key, snapshot.system)

    def weighed(self, snapshot: Snapshot) -> Snapshot:
        """Return the snapshot with its dangers, worked out where they are not known."""
        if snapshot.setup is None or snapshot.is_elsewhere:
            return replace(snapshot, dangers=None)
        key = self._key(snapshot)
        if key is None:
            return with_dangers_failed(snapshot)
        found = self.book.work_out(snapshot.records, key, snapshot.system, snapshot.now)
        return with_dangers_failed(snapshot) if found is None else replace(snapshot, dangers=found)

    def _key(self, snapshot: Snapshot) -> Hashable | None:
        now, system = snapshot.now, snapshot.system
        return tried(
            "dangers", lambda: key_of(snapshot.standing, snapshot.setup, system, now), None
        )
