"""Histories of a store on a failing disk; after every change the power is cut in every way.

At each unflushed change all contents that the disk may then have are opened again. What comes back
must be what was acknowledged, or that and the one change under way: nothing else, nothing half.
Contents met before are not opened a second time, and what came of them is held against what was
acknowledged all the same.
"""

from collections import Counter
from dataclasses import dataclass, field, replace
from typing import Any

from mobile.storage.batch import Put
from mobile.storage.contents import CONFLICTS, META, RECORDS, conflict_key
from mobile.storage.errors import StorageFailed
from mobile.storage.memory import MemoryFolder
from mobile.storage.migrations import SCHEMA_VERSION
from mobile.storage.opening import open_journal
from mobile.storage.transfer import export_bytes
from tests.mobile.storage.disk import Disk, Files
from tests.mobile.storage.support import START, DeviceIds, codes, open_in, record

WHOLE_STORE = 32  # of so many contents one is opened as a store, written to and opened again


@dataclass(frozen=True, slots=True)
class View:
    """What a store holds."""

    records: dict[str, dict] = field(default_factory=dict)
    conflicts: dict[str, dict] = field(default_factory=dict)
    draft: Any = None


def view_of(repository) -> View:
    records = {item["id"]: item for item in repository.records()}
    conflicts = {conflict_key(item): item for item in repository.conflicts()}
    return View(records, conflicts, repository.meta("draft"))


@dataclass
class Census:
    """Counts the contents of all files together that were met, each once."""

    seen: set[int] = field(default_factory=set)
    opened: int = 0
    further: int = 0
    cuts: int = 0
    histories: int = 0
    findings: Counter = field(default_factory=Counter)

    def told(self) -> str:
        found = ", ".join(f"{name} {count:,}" for name, count in sorted(self.findings.items()))
        return (
            f"{len(self.seen):,} distinct contents after {self.cuts:,} power cuts in "
            f"{self.histories:,} histories, "
            f"{self.opened:,} journals opened, {self.further:,} stores used further; {found}"
        )


class Keeper:
    """Saves, imports, tidies and starts anew on a disk whose power may go at any moment."""

    def __init__(self, disk: Disk, census: Census, tag: str = "") -> None:
        self.disk = disk
        self.census = census
        self.tag = tag
        self.acknowledged = View()
        self.under_way: View | None = None
        self.repository: Any = None
        self._device_ids = DeviceIds()
        self._met: dict[int, View] = {}
        self._number = 0
        self.is_created = False
        disk.watch = self.check

    async def run(self, actions: list[tuple]) -> View:
        """Do actions, each a name and its arguments; return what was acknowledged in the end."""
        await self.open()
        for name, *arguments in actions:
            if self.repository is not None:
                await getattr(self, name)(*arguments)
        await self.check()
        return self.acknowledged

    async def open(self) -> None:
        """Open the store; with a disk that fails it may not open, or not be writable."""
        try:
            self.repository = await open_in(self.disk, device_ids=self._device_ids)
        except StorageFailed:
            self.repository = None
            return
        found = view_of(self.repository)
        assert found in (self.acknowledged, self.under_way or self.acknowledged)
        if self.repository.report.writable:
            # What is shown is as good as acknowledged.
            self.acknowledged, self.under_way = found, None
            self.is_created = True

    async def start_anew(self) -> None:
        """The app is closed and opened, the power stays on."""
        await self.repository.close()
        await self.open()

    async def save(self, count: int = 1, back: int = 0) -> None:
        """Save some records and a draft in one commit; `back` minutes before the newest."""
        self._number += 1
        number = self._number
        batch = [
            record(
                self.repository.next_id(),
                minutes=max(0, number * 10 - back) + index,
                note=f"{self.tag}{number}.{index}",
            )
            for index in range(count)
        ]
        meant = replace(
            self.acknowledged,
            records=self.acknowledged.records | {item["id"]: item for item in batch},
            draft=f"{self.tag}{number}",
        )
        draft = {"draft": meant.draft}
        await self._try(meant, lambda: self.repository.append(batch, meta=draft))

    async def take_in(self, first: int, count: int) -> None:
        """Import records of another device; numbers met before come with another content."""
        self._number += 1
        note = f"{self.tag}import {self._number}"
        lines = [
            record(f"elsewhere1:{first + n}", minutes=first + n, note=note) for n in range(count)
        ]
        preview = await self.repository.preview_import(export_bytes(lines, START))
        meant = replace(
            self.acknowledged,
            records=self.acknowledged.records | {item["id"]: item for item in preview.new},
            conflicts=self.acknowledged.conflicts
            | {conflict_key(item): item for item in preview.conflicting},
        )
        await self._try(meant, lambda: self.repository.apply_import(preview))

    async def tidy(self) -> None:
        """Take a snapshot, which changes nothing that is kept."""
        await self.repository.tidy(force=True)

    async def settle(self) -> None:
        """Put on the disk how far all is acknowledged, which changes nothing that is kept."""
        await self.repository.settle()

    async def become_another(self) -> None:
        """Go on under a new device id: the other header slot is written."""
        if self.repository.blocked is None:
            await self._try(self.acknowledged, self.repository._become_new_device)

    async def _try(self, meant: View, work) -> None:
        if self.repository.blocked is not None:
            return
        self.under_way = meant
        try:
            await work()
        except StorageFailed:
            if self.repository.blocked is None:
                self.under_way = None  # it was taken back, for good
            return
        self.acknowledged, self.under_way = meant, None
        assert view_of(self.repository) == meant

    async def check(self) -> None:
        """Cut the power now: whatever the disk then holds gives what was acknowledged."""
        self.census.cuts += 1
        allowed = (
            [self.acknowledged]
            if self.under_way is None
            else [
                self.acknowledged,
                self.under_way,
            ]
        )
        for files in self.disk.folders_after_power_loss():
            key = hash(tuple(files.items()))
            if key not in self._met:
                self._met[key] = await self._after(files, key)
            assert self._met[key] in allowed, (self.disk.calls, files)

    async def _after(self, files: Files, key: int) -> View:
        census = self.census
        census.opened += 1
        is_new = key not in census.seen
        census.seen.add(key)
        folder = folder_of(files)
        opened = await open_journal(
            folder, schema_version=SCHEMA_VERSION, new_device_id=lambda: "devicenew1"
        )
        await opened.journal.close()
        found = folded(opened)
        # Damage not met before may have cost an id that is known elsewhere: a new device, drawn
        # before the first copy of the damage was begun.
        is_anew = opened.journal.header.device == "devicenew1"
        assert is_anew or not opened.problems or any(name.startswith("quar") for name in files)
        reported = {problem.code for problem in opened.problems}
        assert reported <= self._expected_problems(), (opened.problems, files)
        census.findings.update(reported if is_new else ())
        if census.opened % WHOLE_STORE == 0:
            await self._use_further(folder_of(files), found)
        return found

    def _expected_problems(self) -> set[str]:
        """A power cut leaves torn ends; anything else would be damage that we did ourselves."""
        expected = {"journal_tail_torn", "journal_tail_perhaps"}
        if not self.is_created:
            expected.add("journal_header_damaged")
        if any(call < self.disk.calls for call in self.disk.faults):
            # A commit that was being taken back may be cut in its middle.
            expected |= {"journal_damaged", "journal_commits_lost"}
        return expected

    async def _use_further(self, folder: MemoryFolder, found: View) -> None:
        """Open the whole store, save, take a snapshot and open again: nothing of it is lost."""
        self.census.further += 1
        repository = await open_in(folder, device_ids=lambda: "devicenew2")
        assert repository.report.writable
        assert view_of(repository) == found
        new = record(repository.next_id(), minutes=99_999, note="after")
        assert new["id"] not in found.records
        await repository.append([new])
        await repository.tidy(force=True)
        await repository.close()
        again = await open_in(folder)
        assert view_of(again) == replace(found, records=found.records | {new["id"]: new})
        assert codes(again) == []


def folder_of(files: Files) -> MemoryFolder:
    return MemoryFolder(files={name: bytearray(data) for name, data in files.items()})


def folded(opened) -> View:
    """What an opened journal amounts to; every record passed the door when it was saved."""
    tables: dict[str, dict] = {RECORDS: {}, CONFLICTS: {}, META: {}}
    for op in (*opened.snapshot.checked, *opened.snapshot.unread, *opened.ops):
        if isinstance(op, Put):
            tables[op.table][op.id] = op.doc
        else:
            tables[op.table].pop(op.id, None)
    draft = tables[META].get("draft", {"value": None})["value"]
    return View(tables[RECORDS], tables[CONFLICTS], draft)
