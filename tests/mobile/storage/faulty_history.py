"""What a keeper does in a browser of which any call may fail, and what was acknowledged of it."""

import asyncio
from collections import Counter
from dataclasses import dataclass, field, replace
from functools import partial
from typing import Any

from mobile.storage.contents import conflict_key
from mobile.storage.errors import AppError
from mobile.storage.store import open_repository
from mobile.storage.transfer import export_bytes
from tests.mobile.storage.histories import View, view_of
from tests.mobile.storage.support import START, DeviceIds, plain_validate, record
from tests.support.scripted_browser import Medium

OPENINGS = 4  # a keeper who starts the app that often in a row has it
LONGEST_S = 400.0  # of the browser's time: no call of the app goes on for longer
ERASED = "of the pond"
LARGE = 40  # records of about a thousand bytes: a commit in parts


def backends():
    """Return the openers of the app in a browser; only while a scripted one is installed."""
    from mobile.browser.idb import idb_folder
    from mobile.browser.opfs import opfs_folder

    return [partial(opfs_folder, "/"), partial(idb_folder, "/")]


async def opened(device_ids):
    return await open_repository(
        *backends(), validate=plain_validate, new_device_id=device_ids, checked_by="this build"
    )


@dataclass
class History:
    """What a keeper does, and what was acknowledged of it.

    Attributes
    ----------
    acknowledged, under_way : View
        What is safe; and with the change under way, or that failed and could not be taken back.
    stands : bool
        Whether the store was ever writable.
    had_erased : bool
        Whether anything of what is erased later was ever acknowledged.
    """

    compact: bool = False
    acknowledged: View = field(default_factory=View)
    under_way: View | None = None
    stands: bool = False
    had_erased: bool = False
    is_cleared: bool = False
    repository: Any = None
    errors: list[AppError] = field(default_factory=list)
    told: Counter = field(default_factory=Counter)
    longest_s: float = 0.0
    _device_ids: DeviceIds = field(default_factory=DeviceIds)
    _number: int = 0
    _clears: int = 0

    @property
    def allowed(self):
        """What may be found now."""
        lost = [View()] if self.is_cleared else []
        return [self.acknowledged, *([self.under_way] if self.under_way else []), *lost]

    def clear(self):
        """The browser clears its storage; until a save is acknowledged again, all may be gone."""
        self.is_cleared = True
        self._clears += 1

    def left(self, medium):
        """Return a medium with what may be found on it now."""
        return Left(medium, self.allowed, self.stands, self.had_erased, self._clears > 0)

    async def run(self):
        """Do all of it; what fails is gone on with as a keeper would."""
        for step in self.steps():
            await self.writable()
            await step()
        await self.close()

    def steps(self):
        """Return what is done, in its order."""
        pond = partial(self.save, system="pond")
        large = partial(self.save, LARGE, text="x" * 1000)
        first = (self.save, pond, large, self.tidy, partial(self.take_in, 1), self.settle)
        again = (self.close, pond, partial(self.take_in, 2), self.self_check, self.tidy)
        last = (partial(self.erase, "pond"), self.save, self.close, self.save, self.tidy)
        if self.compact:
            again, last = (self.close,), (partial(self.erase, "pond"), self.save)
        return (*first, *again, *last, self.erase, self.save, self.settle)

    async def writable(self):
        """Open the store, again where it does not open or takes nothing; then give up."""
        for _ in range(OPENINGS):
            if self.repository is not None and self.repository.blocked is None:
                return
            await self.close()
            await self._open()
        if self.repository is not None and self.repository.blocked is not None:
            await self.close()

    async def _open(self):
        try:
            self.repository = await self._bounded(opened(self._device_ids))
        except AppError as error:
            self._failed(error)
            return
        found = view_of(self.repository)
        assert found in self.allowed, "opened"
        self.told.update(problem.code for problem in self.repository.report.problems)
        if self.repository.report.writable:
            # What is shown is as good as acknowledged.
            self.acknowledged, self.under_way, self.stands = found, None, True
            self.is_cleared = self.is_cleared and found != View()
            self.had_erased = self.had_erased or has_erased(found)

    async def close(self):
        repository, self.repository = self.repository, None
        if repository is not None:
            try:
                await self._bounded(repository.close())
            except AppError as error:
                self._failed(error)

    async def settle(self):
        """Let what is done at idle be done, where there is such a thing."""
        if hasattr(self.repository, "settle"):
            await self._try(self.acknowledged, self.repository.settle)

    async def save(self, count=1, *, system="main", text=""):
        if self.repository is None:
            return
        self._number += 1
        batch = [
            record(
                self.repository.next_id(),
                minutes=self._number * 100 + index,
                system=system,
                note=f"{self._number}.{index} of the {system} {text}",
            )
            for index in range(count)
        ]
        meant = replace(
            self.acknowledged,
            records=self.acknowledged.records | {item["id"]: item for item in batch},
            draft=str(self._number),
        )
        await self._try(meant, lambda: self.repository.append(batch, meta={"draft": meant.draft}))

    async def take_in(self, first, count=3):
        """Import records of another device; numbers met before come with another content."""
        if self.repository is None:
            return
        self._number += 1
        lines = [
            record(f"elsewhere1:{first + n}", minutes=first + n, note=f"import {self._number}")
            for n in range(count)
        ]
        preview = await self.repository.preview_import(export_bytes(lines, START))
        meant = replace(
            self.acknowledged,
            records=self.acknowledged.records | {item["id"]: item for item in preview.new},
            conflicts=self.acknowledged.conflicts
            | {conflict_key(item): item for item in preview.conflicting},
        )
        await self._try(meant, lambda: self.repository.apply_import(preview))

    async def tidy(self):
        if self.repository is not None:
            await self._try(self.acknowledged, lambda: self.repository.tidy(force=True))

    async def self_check(self):
        if self.repository is not None:
            await self._try(self.acknowledged, self.repository.self_check)

    async def erase(self, system=None):
        if self.repository is None:
            return
        if system is None:
            meant = View()
        else:
            left = {i: r for i, r in self.acknowledged.records.items() if r["system"] != system}
            aside = {i: r for i, r in self.acknowledged.conflicts.items() if r["system"] != system}
            meant = View(left, aside, None)
        await self._try(meant, lambda: self.repository.erase(system, forget=["draft"]))

    async def _try(self, meant, work):
        if self.repository.blocked is not None:
            return
        self.under_way, clears = meant, self._clears
        adds = meant.draft != self.acknowledged.draft
        try:
            await self._bounded(work())
        except AppError as error:
            self._failed(error)
            if self.repository.blocked is None:
                self.under_way = None  # it was taken back, for good
                assert view_of(self.repository) == self.acknowledged, "after a failure"
            return
        self.acknowledged, self.under_way = meant, None
        if adds and clears == self._clears:
            self.is_cleared = False
        self.had_erased = self.had_erased or has_erased(meant)
        assert view_of(self.repository) == meant, "acknowledged"

    async def _bounded(self, work):
        loop = asyncio.get_running_loop()
        began = loop.time()
        try:
            return await work
        finally:
            self.longest_s = max(self.longest_s, loop.time() - began)
            assert self.longest_s <= LONGEST_S, self.longest_s

    def _failed(self, error):
        self.errors.append(error)
        self.told[error.code] += 1


@dataclass
class Left:
    """A medium after something went wrong, and what may be found on it."""

    medium: Medium
    allowed: list[View]
    stands: bool
    had_erased: bool  # what the keeper erases was saved before
    was_cleared: bool  # the browser took away a store under the open app


def has_erased(view):
    """Whether it has anything of the system that the keeper erases."""
    return any(ERASED in item["note"] for item in view.records.values())
