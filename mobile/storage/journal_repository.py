"""The repository above the journal: check, write, flush, take into memory, acknowledge."""

import asyncio
from collections.abc import AsyncGenerator, Collection, Mapping, Sequence
from contextlib import asynccontextmanager
from dataclasses import replace
from datetime import datetime
from typing import Any, Self

from tinydb import TinyDB

from mobile.storage import agreement
from mobile.storage.batch import Op
from mobile.storage.changes import import_puts, meta_op, new_puts
from mobile.storage.erasing import ERASE_DAMAGED
from mobile.storage.erasure import erased
from mobile.storage.errors import (
    AppError,
    EraseFailed,
    ImportRefused,
    RecordRefused,
    StoreBusy,
)
from mobile.storage.loading import Loaded, Store
from mobile.storage.problems import Problem
from mobile.storage.repository import OpenReport
from mobile.storage.restore import Refusal, Refused, split_id
from mobile.storage.self_check import CheckReport, check_all
from mobile.storage.slots import ACKNOWLEDGED, Mark, MarkFile
from mobile.storage.snapshot import LOST_SNAPSHOT, Pause
from mobile.storage.tidying import LEAST_BYTES, Tidying, take_snapshot
from mobile.storage.transfer import (
    ImportPreview,
    ImportResult,
    Progress,
    export_bytes,
    read_import,
)


class JournalRepository:
    """Records above the journal; made by `store.open_repository`."""

    def __init__(self, store: Store, loaded: Loaded) -> None:
        self._store = store
        self._folder = store.folder
        self._door = store.door
        self._lock = asyncio.Lock()
        self._tidying = Tidying()
        self._settling = Tidying()
        self._mark = MarkFile(store.folder, ACKNOWLEDGED)
        self._take(loaded)

    def _take(self, loaded: Loaded) -> None:
        self._journal = loaded.journal
        self._contents = loaded.contents
        self._report = loaded.report
        self._marked: Mark | None = None
        self._findings = loaded.findings
        self._verdicts = loaded.verdicts
        self._last_number = loaded.contents.highest(loaded.journal.header.device)

    async def __aenter__(self) -> Self:
        return self

    async def __aexit__(self, *error: object) -> None:
        await self.close()

    @property
    def report(self) -> OpenReport:
        """What was found when the store was opened."""
        return self._report

    @property
    def blocked(self) -> AppError | None:
        """Why nothing can be saved now, or None; JournalStopped after a failed write."""
        return self._journal.blocked

    @property
    def unseen(self) -> tuple[Problem, ...]:
        """What may have cost an acknowledged entry, and the keeper has not read yet."""
        return agreement.unseen(self._findings, self._contents)

    async def confirm_seen(self) -> None:
        """Save that the keeper has read what is unseen; raises as `append` does."""
        async with self._lock:
            await agreement.confirm(self._findings, self._journal, self._contents)

    @property
    def verdicts(self) -> Mapping[str, Mapping[str, Any]]:
        """The last verdict that was kept on each system; see `verdicts.py`."""
        return self._verdicts.known

    async def keep_verdict(self, system: str, verdict: Mapping[str, Any]) -> None:
        """Keep a verdict on a system beside the journal; raises nothing."""
        if self.blocked is None:

            async def keep(_pause: Pause) -> bool:
                await self._verdicts.keep(system, verdict)
                return True

            await self._settling.queued(keep)

    async def settle(self) -> bool:
        """Put on the medium how far all is acknowledged, then bring the second copy up.

        For an idle moment after a save: until the mark stands, nobody can tell a last entry that
        was lost from one that was never saved. Raises nothing; whether all of it was done.
        """
        return await self._settling.queued(self._settle)

    async def _settle(self, pause: Pause) -> bool:
        if self.blocked is not None:
            return False
        header, at = self._journal.header, self._journal.position
        wanted = Mark(lineage=header.lineage, epoch=header.epoch, at=at)
        try:
            # After a loss the mark goes on telling which numbers were given, until one is again.
            if wanted != self._marked and not at.skipped:
                await self._mark.write(wanted)
                self._marked = wanted
            if self._store.second is not None:
                await self._store.second.bring_up(self._journal, pause)
        except AppError as error:
            print(f"settle: {error}")  # for developers; the journal has everything
            return False
        return True

    @property
    def device(self) -> str:
        """The device part of the ids made here."""
        return self._journal.header.device

    @property
    def db(self) -> TinyDB:
        """TinyDB for queries: tables `records`, `conflicts`, `meta` (`{"value": ...}`)."""
        return self._contents.db

    def next_id(self) -> str:
        """Return a new record id, `device:number`; take it when the record is appended."""
        self._last_number += 1
        return f"{self.device}:{self._last_number}"

    async def append(
        self, records: Sequence[Mapping[str, Any]], *, meta: Mapping[str, Any] | None = None
    ) -> tuple[dict[str, Any], ...]:
        """Save records, and app state with them, in one commit.

        Returns only after the flush: then, and not before, the UI may say "Saved". A record that
        is stored already with the same content is passed over, so a retry is safe.

        Parameters
        ----------
        records : sequence of dict
            In the form of the engine's codec, ids from `next_id`.
        meta : dict, optional
            App state of the same commit; None as a value removes the key.

        Returns
        -------
        tuple of dict
            The records as stored, one for each given.

        Raises
        ------
        RecordRefused
            One of them, or a piece of app state, does not pass the door.
        RecordConflict
            An id is taken by another content.
        StoreReadOnly, JournalStopped, StorageFull, StorageFailed
            Nothing was saved.
        """
        async with self._lock:
            admitted = [self._admit(record) for record in records]
            ops = new_puts(admitted, self._contents.record)
            ops += [meta_op(key, value) for key, value in (meta or {}).items()]
            await self._commit(ops)
            return tuple(self._stored(record) for record in admitted)

    def records(self, system: str | None = None) -> Sequence[dict[str, Any]]:
        """Return the records of a system, or of all, oldest first (by `at`, then by id)."""
        return self._contents.records(system)

    def record(self, record_id: str) -> dict[str, Any] | None:
        """Return one record, or None."""
        return self._contents.record(record_id)

    def systems(self) -> tuple[str, ...]:
        """Return the systems that have records, sorted."""
        return self._contents.systems()

    def conflicts(self) -> tuple[dict[str, Any], ...]:
        """Return imported records whose id was taken by another content."""
        return self._contents.conflicts()

    def refused(self) -> tuple[Refused, ...]:
        """Return what the journal holds and this version cannot read, as it is stored."""
        return tuple(self._contents.refused)

    def meta(self, key: str) -> Any:
        """Return a piece of app state, or None."""
        return self._contents.meta(key)

    async def put_meta(self, key: str, value: Any) -> None:
        """Save a piece of app state; None removes it. Raises as `append` does."""
        await self.append((), meta={key: value})

    def export(self, exported_at: datetime) -> bytes:
        """Return the export file: records, then conflicts, then what could not be read."""
        unread = (refused.raw for refused in self._contents.refused)
        return export_bytes([*self.records(), *self.conflicts(), *unread], exported_at)

    async def preview_import(
        self, data: bytes, on_progress: Progress | None = None
    ) -> ImportPreview:
        """Say what importing a file would do; changes nothing and raises nothing."""
        return await read_import(
            data,
            door=self._door,
            stored=self._contents.record,
            holds=self._contents.holds,
            on_progress=on_progress,
        )

    async def apply_import(
        self, preview: ImportPreview, *, accept_damaged: bool = False
    ) -> ImportResult:
        """Import what a preview holds, in one commit.

        Parameters
        ----------
        preview : ImportPreview
            From `preview_import`; records saved since then are taken into account.
        accept_damaged : bool
            The person agreed to import what is left of a damaged file.

        Raises
        ------
        ImportRefused
            The file is foreign, newer or too large, or damaged and `accept_damaged` is not set.
        StoreReadOnly, JournalStopped, StorageFull, StorageFailed
            Nothing was imported.
        """
        if preview.refusal or (preview.is_damaged and not accept_damaged):
            problem = preview.refusal or preview.problems[0]
            raise ImportRefused(problem=problem.code, detail=problem.detail)
        async with self._lock:
            incoming = [*preview.new, *preview.conflicting]
            fresh = [record for record in incoming if not self._contents.holds(record)]
            added, conflicts = import_puts(fresh, self._contents.record)
            if any(split_id(record["id"])[0] == self.device for record in fresh):
                # Another store made records under our name: go on under a new one.
                await self._become_new_device()
            await self._commit([*added, *conflicts])
            return ImportResult(
                added=len(added),
                conflicts=len(conflicts),
                same=preview.same + len(incoming) - len(fresh),
            )

    @property
    def wants_tidying(self) -> bool:
        """Whether `tidy` would take a snapshot now."""
        grown = self._journal.position.end - self._journal.header.replay_from
        return self.blocked is None and (grown >= LEAST_BYTES or self._lost_snapshot())

    async def tidy(self, *, force: bool = False) -> bool:
        """Take a snapshot when enough was saved since the last one; for an idle moment.

        Returns
        -------
        bool
            Whether one was taken. A failure changes nothing and is only printed.
        """
        return await self._tidying.run(
            lambda pause: take_snapshot(
                self._folder,
                self._journal,
                self._contents,
                lock=self._lock,
                checked_by=self._store.checked_by,
                pause=pause,
                least_bytes=0 if force or self._lost_snapshot() else LEAST_BYTES,
            )
        )

    async def erase(self, system: str | None = None, *, forget: Collection[str] = ()) -> bool:
        """Erase a system, or everything, for good; what is left goes on as a new device.

        `forget` names the pieces of app state that go with a system.

        Returns
        -------
        bool
            Whether nothing is left in the other places of this device either.

        Raises
        ------
        StoreReadOnly, StorageFull, StorageFailed
            Nothing was erased.
        ErasureStands
            It may be done already, or be done at the next opening: nothing is saved here any more.
        """
        async with self._resting(), self._lock:
            loaded, is_all = await erased(
                self._store,
                self._journal,
                self._contents,
                system,
                self._verdicts,
                forget=forget,
            )
            self._take(loaded)
            if any(found.code == ERASE_DAMAGED for found in self._report.problems):
                raise EraseFailed
            return is_all and self._store.all_places_opened

    async def self_check(self) -> CheckReport:
        """Read everything again from the medium and hold it against what is in memory."""
        async with self._settling.held(), self._lock:
            found = await check_all(self._folder, self._journal, self._contents, self._door)
            second = self._store.second
            of_copy = await agreement.damage_of(second) if second is not None else ()
            return replace(found, problems=(*found.problems, *of_copy))

    async def follow(self) -> bool:
        """Take in what the window that writes has saved since; for a store that only reads.

        Returns
        -------
        bool
            Whether there was anything new.

        Raises
        ------
        StorageFailed
            It cannot be followed: open the store again.
        """
        async with self._lock:
            news = await self._journal.news(self._folder)
            self._contents.follow(news)
            return bool(news)

    async def hand_over(self) -> None:
        """Let another window write; a commit under way is finished first. Here it is only read."""
        async with self._resting(), self._lock:
            await self._let_go()
            await self._journal.block(StoreBusy(file="handed over"))

    async def close(self) -> None:
        """Release the store; a commit under way is finished first."""
        async with self._resting(), self._lock:
            await self._let_go()
            await self._journal.close()

    @asynccontextmanager
    async def _resting(self) -> AsyncGenerator[None]:
        """Let no work of an idle moment go on; to be entered before the lock is taken."""
        async with self._tidying.held(), self._settling.held():
            yield

    async def _let_go(self) -> None:
        if self._store.second is not None:
            await self._store.second.close()

    def _lost_snapshot(self) -> bool:
        return any(found.code in LOST_SNAPSHOT for found in self._report.problems)

    def _admit(self, record: Mapping[str, Any]) -> dict[str, Any]:
        try:
            return self._door.admit(dict(record))
        except Refusal as refusal:
            raise RecordRefused(refusal.problem) from refusal

    def _stored(self, record: Mapping[str, Any]) -> dict[str, Any]:
        stored = self._contents.record(record["id"])
        if stored is None:
            raise AssertionError("an acknowledged record is in memory")
        return stored

    async def _become_new_device(self) -> None:
        await self._journal.replace_header(device=self._store.new_device_id())
        self._last_number = self._contents.highest(self.device)

    async def _commit(self, ops: Sequence[Op]) -> None:
        if ops:
            self._contents.apply(await self._journal.commit(ops))
