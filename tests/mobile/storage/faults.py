"""A keeper's history on a scripted browser of which any call may fail; what is left is compared.

Whatever fails, the app's own call succeeds or raises an `AppError`, and ends. Afterwards, with
nothing failing any more, the store opens and holds what was acknowledged; of the one change under
way all or nothing; nothing that was erased; and nothing is told as damaged or lost that is not.
"""

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
from tests.support.scripted_browser import Browser, Medium, Plan, Stage
from tests.support.scripted_browser.files import WorkerStopped

OPENINGS = 4  # a keeper who starts the app that often in a row has it
LONGEST_S = 400.0  # of the browser's time: no call of the app goes on for longer
ERASED = "of the pond"
LARGE = 40  # records of about a thousand bytes: a commit in parts

# What may be told although everything acknowledged is there: the rest of a write that never was.
TRUE_AFTER_A_FAILURE = frozenset({"journal_tail_torn"})
TRUE_BEFORE_A_STORE_STANDS = frozenset({"journal_header_damaged"})


def backends():
    """Return the openers of the app in a browser; only while a scripted one is installed."""
    from mobile.browser.idb import idb_folder
    from mobile.browser.opfs import opfs_folder

    return [opfs_folder, idb_folder]


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
        return Left(medium, self.allowed, self.stands, self.had_erased)

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


async def check(left, browser, lacks):
    """Open what is left, compare, go on with it, and open it again."""
    ids = DeviceIds()
    ids.drawn = 5000
    first = await opened(ids)
    told = [problem.code for problem in first.report.problems]
    true = TRUE_AFTER_A_FAILURE | lacks
    if not left.stands:
        true |= TRUE_BEFORE_A_STORE_STANDS
    assert set(told) <= true, told
    assert first.report.writable, first.report.blocked
    found = view_of(first)
    assert found in left.allowed, _difference(found, left.allowed)
    if left.had_erased and not has_erased(found):
        if hasattr(first, "settle"):
            await first.settle()
        assert not holds(browser.medium, ERASED.encode()), "erased bytes"
    new = record(first.next_id(), minutes=99_999, note="afterwards")
    assert new["id"] not in found.records
    await first.append([new])
    await first.tidy(force=True)
    await first.close()
    again = await opened(ids)
    assert view_of(again) == replace(found, records=found.records | {new["id"]: new})
    codes = {problem.code for problem in again.report.problems if not problem.known}
    assert codes <= lacks, codes
    await again.close()
    return set(told) - lacks


def has_erased(view):
    """Whether it has anything of the system that the keeper erases."""
    return any(ERASED in item["note"] for item in view.records.values())


def _difference(found, allowed):
    return [
        {
            "missing": sorted(view.records.keys() - found.records.keys()),
            "invented": sorted(found.records.keys() - view.records.keys()),
            "conflicts": found.conflicts == view.conflicts,
            "draft": (view.draft, found.draft),
        }
        for view in allowed
    ]


def holds(medium, words):
    """Whether any byte of the words lies anywhere on the medium, what a cut may bring back too."""
    rows = (rows for db in medium.databases.values() for rows in db.stores.values())
    return any(words in piece for piece in _pieces(medium.files)) or any(
        words in value for each in rows for value in each.values if isinstance(value, bytes)
    )


def _pieces(tree):
    yield from tree.removed.values()
    for entry in tree.entries.values():
        if hasattr(entry, "entries"):
            yield from _pieces(entry)
        else:
            yield bytes(entry.content)
            yield entry.durable or b""


@dataclass
class Census:
    """Counts what was tried."""

    runs: int = 0
    reopened: int = 0
    longest_s: float = 0.0
    told: Counter = field(default_factory=Counter)  # while calls failed
    found: Counter = field(default_factory=Counter)  # at opening again

    def __str__(self):
        told, found = (
            ", ".join(f"{name} {count:,}" for name, count in sorted(counter.items()))
            for counter in (self.told, self.found)
        )
        return (
            f"{self.runs:,} histories, {self.reopened:,} stores reopened, "
            f"longest call {self.longest_s:.0f} s; told: {told}; found later: {found}"
        )


@dataclass
class Faults:
    """Runs histories on the scripted browser of a stage, and reopens what is left of them.

    Attributes
    ----------
    backend : str
        "opfs" for a browser with both stores, "idb" for one without files.
    """

    stage: Stage
    backend: str
    compact: bool = False
    census: Census = field(default_factory=Census)

    @property
    def _without(self):
        return () if self.backend == "opfs" else ("storage",)

    def history(self, plan=None, watch=None, quota=None):
        """Run one history, with failures where a plan or a quota asks for them."""
        browser = self.stage.browser = Browser(plan=plan, quota=quota, without=self._without)
        history = History(compact=self.compact)
        if watch is not None:
            browser.calls.watch = partial(watch, history)
        browser.run(history.run())
        browser.calls.watch = None
        self.census.runs += 1
        self.census.told.update(history.told)
        self.census.longest_s = max(self.census.longest_s, history.longest_s)
        return history

    def calls(self):
        """Return the names of all calls of one history in which nothing fails."""
        history = self.history()
        assert (history.errors, self.stage.browser.uncaught) == ([], [])
        return list(self.stage.browser.calls.made)

    def fail(self, number, kind, lasting="once", seeds=(None, 1)):
        """Fail a call; reopen what is left at the end, by seed after a power cut, None: without."""
        self._ended(f"call {number}: {kind}, {lasting}", seeds, plan=Plan(number, kind, lasting))

    def clear(self, number, seeds=(None, 1)):
        """Let the browser clear its storage at a call; reopen what is left at the end."""

        def watch(history, at, _name):
            if at == number:
                history.clear()
                self.stage.browser.clear_storage()

        self._ended(f"cleared at call {number}", seeds, watch=watch)

    def fill(self, quota, seeds=(None, 1)):
        """Let the storage be full at so many bytes; reopen what is left with more room."""
        self._ended(f"{quota} bytes", seeds, quota=quota)

    def _ended(self, what, seeds, **options):
        """Run a history to its end; reopen what is left, by seed after a power cut or without."""
        try:
            history = self.history(**options)
            browser = self.stage.browser
            # What an upgrade's handler throws aborts the upgrade, and is told in the console.
            uncaught = [each for each in browser.uncaught if "onupgradeneeded" not in each]
            assert uncaught == []
            for seed in seeds:
                medium = browser.killed() if seed is None else browser.power_cut(seed)
                self.reopen(history.left(medium))
        except (Exception, WorkerStopped) as error:
            raise AssertionError(what) from error

    def reopen(self, left):
        """Open what is left on a browser that does not fail."""
        browser = self.stage.browser = Browser(left.medium, without=self._without)
        lacks = {"backend_unavailable"} if self._without else set()
        self.census.found.update(browser.run(check(left, browser, lacks)))
        self.census.reopened += 1
        assert browser.uncaught == []
