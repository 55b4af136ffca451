"""The running version: a new one is offered, and held back while an entry or a save is open."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from typing import Any

from mobile.commands.desk import Desk
from mobile.host import Host, HostError
from mobile.texts.app import TEXTS


class Version:
    """The store's part for updates."""

    def __init__(self, desk: Desk, host: Host) -> None:
        self._desk = desk
        self._host = host
        self._entry_open = False
        self._work_count = 0

    def hold(self, *, held: bool) -> None:
        """Tell the page whether an entry is open, so that no update reloads it."""
        self._entry_open = held
        self._tell_host()

    @contextmanager
    def working(self) -> Iterator[None]:
        """Hold updates back while something is being saved."""
        self._work_count += 1
        self._tell_host()
        try:
            yield
        finally:
            self._work_count -= 1
            self._tell_host()
            if self._desk.snapshot.saving and not self._work_count:
                self._desk.snapshot = replace(self._desk.snapshot, saving=False)

    def _tell_host(self) -> None:
        self._host.set_busy(self._entry_open or self._work_count > 0)

    def found(self) -> None:
        """Offer the new version that the page has ready."""
        self._desk.snapshot = replace(self._desk.snapshot, update_ready=True)

    async def ask_recalled(self) -> bool:
        """Take into the snapshot whether this build is recalled; True when that has changed."""
        try:
            text = await self._host.recalled()
        except HostError as error:
            print(f"recalled: {error}")  # for developers; what was known stands
            return False
        if text == self._desk.snapshot.recalled:
            return False
        self._desk.snapshot = replace(self._desk.snapshot, recalled=text)
        return True

    async def apply(self, _event: Any = None) -> None:
        """Change to the new version, by a reload; say so when the page holds it back."""
        try:
            applied = await self._host.apply_update()
        except HostError as error:
            print(f"update: {error}")  # for developers
            applied = False
        if not applied:
            self._desk.say("note", TEXTS["update_held"])

    def build_id(self) -> str:
        """Return the name of the running build."""
        return self._host.build_id
