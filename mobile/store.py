"""The commands behind every tap: append to the journal, then replace the snapshot.

Every command catches `AppError` and turns it into a notice; nothing is shown as saved before the
repository's flush returned.
"""

import asyncio
from collections.abc import Awaitable, Callable, Iterable, Mapping, Sequence
from dataclasses import asdict, replace
from datetime import datetime
from typing import Any

import flet as ft

from engine.decision import decide
from engine.errors import EngineError
from engine.procedure_answers import RecordDraft, RunDraft
from engine.record_codec import from_dict, to_dict
from engine.records import Amendment, Note, ProcedureRun, Record
from mobile.files import Files
from mobile.host import Host, HostError
from mobile.state import figures, updates
from mobile.state.snapshot import Snapshot, StorageState, Tone
from mobile.storage.errors import AppError
from mobile.storage.repository import Repository
from mobile.texts.app import TEXTS
from mobile.texts.storage import problem_sentence

Clock = Callable[[], datetime]
Navigate = Callable[[str], None]

_META_SYSTEM = "system"
_META_EXPORTED = "exported_at"
_META_SETUP_DRAFT = "setup_draft"
_META_UNIT = "alkalinity_unit"


@ft.observable
class Store:
    """The app's state and what can be done to it. `snapshot` is the only public field."""

    def __init__(
        self,
        *,
        clock: Clock,
        host: Host,
        open_repository: Callable[[], Awaitable[Repository]],
        open_demo: Callable[[datetime], Awaitable[Repository]],
        new_id: Callable[[str], str],
        navigate: Navigate,
        files: Files,
    ) -> None:
        self.snapshot = Snapshot(now=clock())
        self._clock = clock
        self._host = host
        self._open = open_repository
        self._open_demo = open_demo
        self._navigate = navigate
        self._files = files
        self._new_id = new_id
        self._decoded: dict[str, Record] = {}
        self._asked_to_persist = False
        self._kept: Repository | None = None  # the keeper's own records
        self._demo: Repository | None = None

    # ---- start, clock, places

    async def start(self) -> None:
        """Open the records and show them."""
        try:
            self._kept = await self._open()
        except AppError as error:
            self.snapshot = replace(self.snapshot, ready=True, not_opened=self._sentence(error))
            return
        await self._describe_storage()
        self.refresh()

    def refresh(self) -> None:
        """Read the log again and decide again, at the present time."""
        now = self._clock()
        repository = self._repository()
        records = tuple(self._record(data) for data in repository.records())
        system = str(repository.meta(_META_SYSTEM) or "")
        known = [name for name, _ in updates.names(records, now)]
        if system not in known:
            system = known[0] if known else ""
        snapshot = updates.with_records(self.snapshot, records, system, now)
        snapshot = replace(
            snapshot,
            demo=self._demo is not None,
            alkalinity_unit=str(repository.meta(_META_UNIT) or "dKH"),
        )
        self.snapshot = self._decided(snapshot)

    def _record(self, data: Mapping[str, Any]) -> Record:
        """Return a stored record as an object; records never change, so each is read once."""
        known = self._decoded.get(data["id"])
        if known is None:
            known = self._decoded[data["id"]] = from_dict(data)
        return known

    def refresh_if_ready(self) -> None:
        """Decide again at the present time, as when the app comes back to the front."""
        if self.snapshot.ready and (self._demo or self._kept):
            self.refresh()

    def new_system_id(self) -> str:
        """Return an id for another system."""
        return self._new_id("system")

    def _decided(self, snapshot: Snapshot) -> Snapshot:
        if snapshot.setup is None:
            return replace(snapshot, decision=None, decision_failed=False)
        try:
            decision = decide(snapshot.records, system=snapshot.system, now=snapshot.now)
        except EngineError as error:
            print(f"decide: {error}")
            return replace(snapshot, decision=None, decision_failed=True)
        return replace(snapshot, decision=decision, decision_failed=False)

    def go(self, path: str) -> None:
        """Show another screen; a notice of the one before has been seen."""
        self.dismiss()
        self.go_on(path)

    def go_on(self, path: str) -> None:
        """Show another screen and keep the notice: it says what was just done."""
        self.hold_updates(held=False)
        self.refresh_if_ready()
        self._navigate(path)

    def hold_updates(self, *, held: bool) -> None:
        """Tell the page whether an entry is open, so that no update reloads it."""
        self._host.set_busy(held)

    # ---- records

    def now(self) -> datetime:
        """Return the present time of the phone's clock, with its zone."""
        return self._clock()

    def make(
        self,
        record_class: type[Record],
        fields: Mapping[str, Any],
        at: datetime | None = None,
        system: str | None = None,
    ) -> Record:
        """Return a new record of the current system, with its id and times; nothing is saved."""
        now = self._clock()
        return record_class(
            id=self._repository().next_id(),
            at=at or now,
            recorded_at=now,
            system=system or self.snapshot.system,
            **fields,
        )

    async def save(
        self, records: Iterable[Record], what: str = "", *, meta: Mapping[str, Any] | None = None
    ) -> bool:
        """Append the records as one; True once they are on storage. Offers to take them back."""
        batch = tuple(records)
        if not await self._append(batch, meta):
            return False
        self._tell_saved(what, tuple(record.id for record in batch))
        await self._after_save()
        return True

    async def _append(
        self, records: Sequence[Record], meta: Mapping[str, Any] | None = None
    ) -> bool:
        """Append the records as one and decide again; says why and returns False on failure."""
        batch = [to_dict(record) for record in records]
        self.snapshot = replace(self.snapshot, saving=True, notice=None)
        try:
            for data in batch:
                from_dict(data)
            await self._repository().append(batch, meta=meta)
        except (AppError, EngineError) as error:
            self._tell("danger", self._sentence(error))
            return False
        self.refresh()
        return True

    def _tell_saved(self, what: str, ids: tuple[str, ...]) -> None:
        """Say that it is saved, and take the sentence away once the offer to undo is over."""
        notice = updates.saved_notice(what, ids, self._clock())
        self.snapshot = replace(self.snapshot, notice=notice, saving=False)

        def fade() -> None:
            if self.snapshot.notice is notice:
                self.dismiss()

        asyncio.get_running_loop().call_later(updates.UNDO_SECONDS, fade)

    async def save_drafts(self, drafts: Sequence[RunDraft | RecordDraft]) -> bool:
        """Save what an answer in a procedure adds to the log, as one."""
        records = [self._from_draft(draft) for draft in drafts]
        saved = await self.save(records)
        if saved and not any(isinstance(draft, RecordDraft) for draft in drafts):
            self.dismiss()  # a step needs no word of its own: the next one shows
        return saved

    def _from_draft(self, draft: RunDraft | RecordDraft) -> Record:
        if isinstance(draft, RunDraft):
            return self.make(ProcedureRun, asdict(draft))
        envelope = to_dict(self.make(Note, {}))
        return from_dict({**envelope, "kind": draft.kind, **draft.values})

    def new_run_id(self) -> str:
        """Return an id for a run of a procedure."""
        return self._new_id("run")

    async def _after_save(self) -> None:
        if self._demo is not None:
            return
        if not self._asked_to_persist and not self.snapshot.storage.persisted:
            self._asked_to_persist = True
            await self._host.request_persistence()
        try:
            await self._host.publish_figures(figures.for_card(self.snapshot))
        except HostError as error:
            print(f"emergency figures: {error}")  # the general card is complete without them
        await self._describe_storage()

    async def amend(self, superseded: str, replacement: Record | None) -> bool:
        """Supersede a record: by a replacement, or by nothing."""
        amendment = self.make(Amendment, {"supersedes": superseded, "replacement": replacement})
        if not await self._append([amendment]):
            return False
        self._tell("good", TEXTS["amended"] if replacement else TEXTS["withdrawn"])
        await self._after_save()
        return True

    async def undo(self, _event: Any = None) -> None:
        """Withdraw what was saved last, while the offer stands."""
        notice = self.snapshot.notice
        if notice is None or not notice.undo_ids:
            return
        withdrawals = [
            self.make(Amendment, {"supersedes": record_id, "replacement": None})
            for record_id in notice.undo_ids
        ]
        if await self._append(withdrawals):
            self._tell("note", TEXTS["undone"])
            await self._after_save()

    async def save_setup(self, records: Sequence[Record]) -> bool:
        """Save a set-up, what was said with it, and make its system the current one."""
        meta = {_META_SYSTEM: records[0].system, _META_SETUP_DRAFT: None}
        return await self.save(records, TEXTS["setup"], meta=meta)

    async def keep_setup_draft(self, draft: Mapping[str, Any]) -> bool:
        """Keep a half-finished set-up, so that a killed app goes on with it; True once kept."""
        return await self._put_meta(_META_SETUP_DRAFT, dict(draft))

    async def _put_meta(self, key: str, value: Any) -> bool:
        """Save a piece of app state; says so and returns False when that fails."""
        try:
            await self._repository().put_meta(key, value)
        except AppError as error:
            self._tell("danger", self._sentence(error))
            return False
        return True

    def setup_draft(self) -> dict[str, Any]:
        """Return the half-finished set-up, or an empty one."""
        return dict(self._repository().meta(_META_SETUP_DRAFT) or {})

    async def choose_unit(self, unit: str) -> None:
        """Show alkalinity in another unit from now on."""
        if await self._put_meta(_META_UNIT, unit):
            self.refresh()

    async def choose_system(self, system: str) -> None:
        """Turn to another system."""
        if await self._put_meta(_META_SYSTEM, system):
            self.refresh()

    # ---- demo

    async def enter_demo(self, _event: Any = None) -> None:
        """Show the invented system; what is recorded in it is not kept."""
        self._demo = await self._open_demo(self._clock())
        self._decoded.clear()  # the demo has the same ids each time, at other times
        self.snapshot = replace(self.snapshot, notice=None, preview=None)
        self.refresh()
        self._navigate("/")

    async def leave_demo(self, _event: Any = None) -> None:
        """Return to the keeper's own records."""
        if self._demo is not None:
            await self._demo.close()
        self._demo = None
        self._decoded.clear()
        self.snapshot = replace(self.snapshot, notice=None, preview=None)
        self.refresh()
        self._navigate("/")

    # ---- export and import

    async def export(self) -> None:
        """Hand the keeper all records as one file."""
        now = self._clock()
        data = self._repository().export(now)
        await self._files.save(f"sumpside-{now:%Y-%m-%d-%H%M}.jsonl", data)
        try:
            await self._repository().put_meta(_META_EXPORTED, now.isoformat())
        except AppError as error:
            print(f"time of the export: {error}")  # the file is out all the same
        await self._describe_storage()
        count = len(self._repository().records())
        self._tell("good", TEXTS["exported"].format(records_count=count))

    def pick_action(self) -> Any:
        """Return what a button does to open the file picker inside its own tap."""
        return self._files.pick_action()

    async def file_picked(self, data: bytes) -> None:
        """Show what importing a file would change; nothing is changed yet."""
        preview = await self._repository().preview_import(data)
        self.snapshot = replace(self.snapshot, preview=preview)

    def drop_import(self) -> None:
        """Put a previewed file away."""
        self.snapshot = replace(self.snapshot, preview=None)

    async def apply_import(self) -> bool:
        """Take over the previewed file, all of it or nothing."""
        preview = self.snapshot.preview
        if preview is None:
            return False
        try:
            done = await self._repository().apply_import(preview, accept_damaged=preview.is_damaged)
        except AppError as error:
            self._tell("danger", self._sentence(error))
            return False
        self.drop_import()
        self.refresh()
        text = "imported" if done.added or done.conflicts else "nothing_new"
        self._tell("good", TEXTS[text].format(new_count=done.added, conflict_count=done.conflicts))
        await self._after_save()
        return True

    # ---- notices and updates

    def dismiss(self, _event: Any = None) -> None:
        """Put the notice away."""
        self.snapshot = replace(self.snapshot, notice=None)

    def say(self, tone: Tone, text: str) -> None:
        """Show a sentence over the screens."""
        self._tell(tone, text)

    def update_found(self) -> None:
        """Offer the new version that the page has ready."""
        self.snapshot = replace(self.snapshot, update_ready=True)

    def open_emergency(self, _event: Any = None) -> None:
        """Show the emergency card over the app."""
        self._host.open_emergency()

    def build_id(self) -> str:
        """Return the name of the running build."""
        return self._host.build_id

    async def apply_update(self, _event: Any = None) -> None:
        """Change to the new version; the page reloads."""
        await self._host.apply_update()

    # ---- inside

    def _repository(self) -> Repository:
        repository = self._demo or self._kept
        if repository is None:
            raise RuntimeError("the store was not started")
        return repository

    def _tell(self, tone: Tone, text: str) -> None:
        self.snapshot = updates.with_notice(self.snapshot, tone, text)

    def _sentence(self, error: AppError | EngineError) -> str:
        print(f"told: {error}")  # for developers
        code = "record_refused" if isinstance(error, EngineError) else error.code
        return TEXTS.get(code, TEXTS["app_error"])

    async def _describe_storage(self) -> None:
        if self._kept is None:
            return
        report = self._kept.report
        estimate = await self._host.storage_estimate()
        exported = self._kept.meta(_META_EXPORTED)
        self.snapshot = replace(
            self.snapshot,
            storage=StorageState(
                backend=report.backend,
                blocked=self._kept.blocked.code if self._kept.blocked else "",
                problems=tuple(problem_sentence(problem) for problem in report.problems),
                persisted=await self._host.persisted(),
                used_bytes=estimate[0] if estimate else None,
                quota_bytes=estimate[1] if estimate else None,
                device=self._kept.device,
                record_count=len(self._kept.records()),
                last_export=datetime.fromisoformat(exported) if exported else None,
            ),
        )
