"""The store as the rest of the app sees it: records in, records out, nothing acknowledged lost."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Protocol

from mobile.storage.errors import AppError
from mobile.storage.problems import Problem
from mobile.storage.restore import Refused
from mobile.storage.self_check import CheckReport
from mobile.storage.transfer import ImportPreview, ImportResult, Progress


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenReport:
    """What was found when the store was opened.

    Attributes
    ----------
    backend : str
        opfs, idb, file or memory; memory keeps nothing.
    writable : bool
        Whether records can be saved.
    blocked : AppError or None
        Why not: StoreBusy (another tab writes), DataNewerThanApp, StorageFull or StorageFailed.
    records : int
        Records that can be read.
    problems : tuple of Problem
        Everything found; those with `known` were reported at an earlier start already.
    second : str
        Where a second copy is kept: opfs or idb; empty where this device has one place only.
    """

    backend: str
    writable: bool
    blocked: AppError | None
    records: int
    problems: tuple[Problem, ...]
    second: str = ""


class Repository(Protocol):
    """What the UI's store is written against. Every dict handed out is read-only by contract."""

    @property
    def report(self) -> OpenReport:
        """What was found when the store was opened."""
        ...

    @property
    def blocked(self) -> AppError | None:
        """Why nothing can be saved now, or None; JournalStopped after a failed write."""
        ...

    @property
    def unseen(self) -> tuple[Problem, ...]:
        """What may have cost an acknowledged entry, and the keeper has not read yet."""
        ...

    async def confirm_seen(self) -> None:
        """Save that the keeper has read what is unseen; raises as `append` does."""
        ...

    @property
    def verdicts(self) -> Mapping[str, Mapping[str, Any]]:
        """The last verdict that was kept on each system; see `verdicts.py`."""
        ...

    async def keep_verdict(self, system: str, verdict: Mapping[str, Any]) -> None:
        """Keep a verdict on a system beside the journal; raises nothing."""
        ...

    async def settle(self) -> bool:
        """Put on the medium how far all is acknowledged, then bring the second copy up.

        For an idle moment after a save. Raises nothing; whether all of it was done.
        """
        ...

    @property
    def device(self) -> str:
        """The device part of the ids made here."""
        ...

    def next_id(self) -> str:
        """Return a new record id, `device:number`; take it when the record is appended."""
        ...

    async def append(
        self, records: Sequence[Mapping[str, Any]], *, meta: Mapping[str, Any] | None = None
    ) -> tuple[dict[str, Any], ...]:
        """Save records, and app state with them, in one commit; see `JournalRepository.append`."""
        ...

    def records(self, system: str | None = None) -> Sequence[dict[str, Any]]:
        """Return the records of a system, or of all, oldest first."""
        ...

    def record(self, record_id: str) -> dict[str, Any] | None:
        """Return one record, or None."""
        ...

    def systems(self) -> tuple[str, ...]:
        """Return the systems that have records, sorted."""
        ...

    def conflicts(self) -> tuple[dict[str, Any], ...]:
        """Return imported records whose id was taken by another content."""
        ...

    def refused(self) -> tuple[Refused, ...]:
        """Return what the journal holds and this version cannot read, as it is stored."""
        ...

    def meta(self, key: str) -> Any:
        """Return a piece of app state, or None."""
        ...

    async def put_meta(self, key: str, value: Any) -> None:
        """Save a piece of app state; None removes it."""
        ...

    def export(self, exported_at: datetime) -> bytes:
        """Return the export file of everything."""
        ...

    async def preview_import(
        self, data: bytes, on_progress: Progress | None = None
    ) -> ImportPreview:
        """Say what importing a file would do."""
        ...

    async def apply_import(
        self, preview: ImportPreview, *, accept_damaged: bool = False
    ) -> ImportResult:
        """Import what a preview holds, whole or not at all."""
        ...

    async def erase(self, system: str | None = None, *, forget: Collection[str] = ()) -> bool:
        """Erase a system with the app state that `forget` names, or everything, for good.

        Whether nothing is left in the other places of this device either.
        """
        ...

    async def self_check(self) -> CheckReport:
        """Read everything again from the medium and hold it against what is in memory."""
        ...

    @property
    def wants_tidying(self) -> bool:
        """Whether `tidy` would take a snapshot now."""
        ...

    async def tidy(self, *, force: bool = False) -> bool:
        """Take a snapshot when enough was saved since the last one; raises nothing."""
        ...

    async def follow(self) -> bool:
        """Take in what the window that writes has saved since; whether there was anything."""
        ...

    async def hand_over(self) -> None:
        """Let another window write."""
        ...

    async def close(self) -> None:
        """Release the store."""
        ...
