"""A keeper's history on a scripted browser of which any call may fail; what is left is compared.

Whatever fails, the app's own call succeeds or raises an `AppError`, and ends. Afterwards, with
nothing failing any more, the store opens and holds what was acknowledged; of the one change under
way all or nothing; nothing that was erased; and nothing is told as damaged or lost that is not.
"""

from collections import Counter
from dataclasses import dataclass, field, replace
from functools import partial
from typing import Any

from mobile.storage.errors import AppError
from mobile.storage.store import open_repository
from mobile.storage.transfer import export_bytes
from tests.mobile.storage.histories import View, view_of
from tests.mobile.storage.support import START, DeviceIds, plain_validate, record
from tests.support.scripted_browser import Browser, Medium, Plan

OPENINGS = 4  # a keeper who starts the app that often in a row has it
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
    """

    size: int = LARGE
    acknowledged: View = field(default_factory=View)
    under_way: View | None = None
    stands: bool = False
    repository: Any = None
    errors: list[AppError] = field(default_factory=list)
    told: Counter = field(default_factory=Counter)
    _device_ids: DeviceIds = field(default_factory=DeviceIds)
    _number: int = 0

    @property
    def allowed(self):
        return [self.acknowledged, *([self.under_way] if self.under_way else [])]

    async def run(self):
        """Do all of it; what fails is gone on with as a keeper would."""
        for step in self.steps():
            await self.writable()
            await step()
        await self.close()

    def steps(self):
        """Return what is done, in its order."""
        pond = partial(self.save, system="pond")
        return (
            self.save,
            pond,
            partial(self.save, self.size, text="x" * 1000),
            self.tidy,
            self.save,
            partial(self.take_in, 1),
            self.settle,
            self.close,
            pond,
            partial(self.take_in, 2),
            self.self_check,
            self.tidy,
            partial(self.erase, "pond"),
            self.save,
            self.close,
            self.save,
            self.tidy,
            self.erase,
            self.save,
            self.settle,
        )

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
            self.repository = await opened(self._device_ids)
        except AppError as error:
            self._failed(error)
            return
        found = view_of(self.repository)
        assert found in self.allowed, "opened"
        self.told.update(problem.code for problem in self.repository.report.problems)
        if self.repository.report.writable:
            # What is shown is as good as acknowledged.
            self.acknowledged, self.under_way, self.stands = found, None, True

    async def close(self):
        repository, self.repository = self.repository, None
        if repository is not None:
            try:
                await repository.close()
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
            | {f"{key}": item for key, item in _conflicts(preview)},
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
            aside = {
                i: r for i, r in self.acknowledged.conflicts.items() if r["system"] != system
            }
            meant = View(left, aside, None)
        await self._try(meant, lambda: self.repository.erase(system, forget=["draft"]))

    async def _try(self, meant, work):
        if self.repository.blocked is not None:
            return
        self.under_way = meant
        try:
            await work()
        except AppError as error:
            self._failed(error)
            if self.repository.blocked is None:
                self.under_way = None  # it was taken back, for good
                assert view_of(self.repository) == self.acknowledged, "after a failure"
            return
        self.acknowledged, self.under_way = meant, None
        assert view_of(self.repository) == meant, "acknowledged"

    def _failed(self, error):
        self.errors.append(error)
        self.told[error.code] += 1


def _conflicts(preview):
    from mobile.storage.contents import conflict_key

    return [(conflict_key(item), item) for item in preview.conflicting]


@dataclass
class Left:
    """A medium after something went wrong, and what may be found on it."""

    medium: Medium
    allowed: list[View]
    stands: bool
    failed: bool
    backend: tuple[str, ...] = ()  # what this browser lacks


async def check(left, browser):
    """Open what is left, compare, go on with it, and open it again."""
    ids = DeviceIds()
    ids.drawn = 5000
    first = await opened(ids)
    told = [problem.code for problem in first.report.problems]
    true = set(TRUE_AFTER_A_FAILURE) if left.failed else set()
    if left.backend:
        true.add("backend_unavailable")
    if not left.stands:
        true |= TRUE_BEFORE_A_STORE_STANDS
    assert set(told) <= true, told
    assert first.report.writable, first.report.blocked
    found = view_of(first)
    assert found in left.allowed, _difference(found, left.allowed)
    if not any(ERASED in item["note"] for item in _all(found)):
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
    assert codes <= {"backend_unavailable"} & true, codes
    await again.close()
    return told


def _all(view):
    return [*view.records.values(), *view.conflicts.values()]


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
    raised: Counter = field(default_factory=Counter)
    found: list[str] = field(default_factory=list)

    def told(self):
        raised = ", ".join(f"{name} {count:,}" for name, count in sorted(self.raised.items()))
        return f"{self.runs:,} histories, {self.reopened:,} stores reopened; {raised}"


def calls_of(stage, *, size=LARGE, without=()):
    """Return the names of all calls of one history in which nothing fails."""
    stage.browser = Browser(without=without)
    history = History(size=size)
    stage.browser.run(history.run())
    assert (history.errors, stage.browser.uncaught) == ([], [])
    assert history.acknowledged.records
    return list(stage.browser.calls.made)


def fail(stage, plan, census, *, size=LARGE, without=(), seeds=(1,)):
    """Run a history with a plan of failures; then reopen it after its end and after power cuts."""
    stage.browser = browser = Browser(plan=plan, without=without)
    history = History(size=size)
    browser.run(history.run())
    # What an upgrade's handler throws aborts the upgrade, as it should, and is told in the console.
    assert plan.name == "createObjectStore" or browser.uncaught == [], browser.uncaught
    census.runs += 1
    census.raised.update(history.told)
    browser.calls.plan = Plan()
    media = [browser.killed(), *(browser.power_cut(seed) for seed in seeds)]
    for medium in media:
        left = Left(
            medium, history.allowed, history.stands, bool(plan.kind), tuple(without)
        )
        reopen(stage, left, census)
    return history


def reopen(stage, left, census):
    stage.browser = Browser(left.medium, without=left.backend)
    census.raised.update(stage.browser.run(check(left, stage.browser)))
    census.reopened += 1
    assert stage.browser.uncaught == []
