"""The commands behind every tap: append to the journal, then replace the snapshot.

Every command catches `AppError` and turns it into a notice; nothing is shown as saved before the
repository's flush returned. Parts with their own matter stand in `mobile/commands`.
"""

import asyncio
from collections.abc import Callable, Iterable, Mapping, Sequence
from contextlib import AbstractContextManager
from dataclasses import replace
from datetime import datetime
from typing import Any

import flet as ft

from engine.errors import EngineError
from engine.log.record_codec import from_dict, to_dict
from engine.records import Amendment, Record
from mobile.commands.books import Books, OpenDemo, OpenKept
from mobile.commands.choices import META_SETUP_DRAFT, META_SYSTEM, Choices
from mobile.commands.danger import Danger, drawn
from mobile.commands.desk import sentence
from mobile.commands.keeping import IDLE_S, Keeping, with_missing
from mobile.commands.papers import Papers
from mobile.commands.runs import Runs
from mobile.commands.tables import Tables
from mobile.commands.transfer import Transfer
from mobile.commands.unseen import Unseen
from mobile.commands.upkeep import Upkeep
from mobile.commands.verdicts import ReadVerdicts, Verdicts, no_verdicts
from mobile.commands.version import Version
from mobile.commands.windows import Windows
from mobile.files import Files
from mobile.host import Host
from mobile.state import boundary, bug_report, figures, updates
from mobile.state.boundary import caught, contained, tried
from mobile.state.snapshot import Snapshot, Tone
from mobile.storage.errors import AppError, DataDamaged, ErasureStands
from mobile.texts.app import TEXTS

Clock = Callable[[], datetime]
Navigate = Callable[[str], None]


@ft.observable
class Store:
    """The app's state and what can be done to it; `snapshot` alone is ever replaced."""

    def __init__(
        self,
        *,
        clock: Clock,
        host: Host,
        open_repository: OpenKept,
        open_demo: OpenDemo,
        new_id: Callable[[str], str],
        navigate: Navigate,
        files: Files,
        local: Callable[[datetime], datetime] = lambda moment: moment,
        read_verdicts: ReadVerdicts = no_verdicts,
    ) -> None:
        self.snapshot = Snapshot(now=clock())
        self._clock = clock
        self._local = local  # a moment with the offset that this place had then
        self._host = host
        self._navigate = navigate
        self._new_id = new_id
        self._moves = 0  # how often the keeper went elsewhere
        self._books = Books(open_repository, open_demo)
        self._keeping = Keeping(host)
        self._danger = Danger()
        self._verdicts = Verdicts(self._books, host, read_verdicts)
        self.transfer = Transfer(self, self._books, files)
        self.tables = Tables(self, files, local)
        self.upkeep = Upkeep(self, self._books, host)
        self.papers = Papers(self, self._books, files)
        self.choices = Choices(self, self._books)
        self.unseen = Unseen(self, self._books)
        self.version = Version(self, host)
        self.runs = Runs(self)
        self.windows = Windows(self, self._books, host)

    # ---- start, clock, places

    async def start(self) -> None:
        """Open the records and show them; a recalled build never shows a dose first."""
        await self.version.ask_recalled()
        await self._open(discard_unreadable=False)

    async def begin_anew(self, _event: Any = None) -> None:
        """Begin with no records where nothing of the old ones can be read; a copy is kept."""
        if not self.snapshot.may_begin_anew:
            return
        self.snapshot = replace(self.snapshot, ready=False, not_opened="", may_begin_anew=False)
        if await self._open(discard_unreadable=True):
            self._navigate("/")
            self.say("note", TEXTS["begun_anew"])

    async def _open(self, *, discard_unreadable: bool) -> bool:
        """Open the records, then show them; whatever fails once they are open, the app is there."""
        try:
            await self._books.open(discard_unreadable=discard_unreadable)
        except Exception as error:  # noqa: BLE001 - a boundary: the screen says why
            known = isinstance(error, AppError)
            if not known:
                caught("journal", error)
            self.snapshot = replace(
                self.snapshot,
                ready=True,
                not_opened=sentence(error),
                may_begin_anew=isinstance(error, DataDamaged),
                verdict=await self._verdicts.without_records(),
            )
            return False
        await self.describe_storage()
        self.refresh()
        self._rest()
        self._publishing = asyncio.create_task(self._publish_later())
        return True

    async def _publish_later(self) -> None:
        """Give the card its figures at a start too: an erasing that was cut had cleared them.

        Not where nothing can be saved: what is read there may be old, or erased elsewhere.
        """
        await asyncio.sleep(IDLE_S)
        kept = self._books.kept
        if kept is not None and kept.repository.blocked is None:
            await self.publish()

    async def reopen(self) -> None:
        """Close the keeper's records and open them again; raises `AppError`."""
        await self._books.reopen()

    def _rest(self) -> None:
        kept = self._books.kept
        if kept is not None:
            tried("rest", lambda: self._keeping.rest_when_idle(kept.repository), None)

    def refresh(self) -> None:
        """Read the log again and decide again, at the present time.

        Whatever fails, no number of before is left on the screen.
        """
        now = self._clock()
        try:
            self._refresh(now)
        except Exception as error:  # noqa: BLE001 - a boundary: the screens are shown all the same
            failure = caught("refresh", error)
            system = self.snapshot.system or tried("system", self.choices.system, "")
            self.snapshot = replace(
                self.snapshot,
                now=now,
                ready=True,
                decision=None,
                ahead=None,
                dangers=None,
                failure=failure,
                verdict=self._verdicts.without_reading(system) or self.snapshot.verdict,
            )

    def _refresh(self, now: datetime) -> None:
        records, kept = self._books.current.records(), self._books.kept
        if kept is not None:
            storage = with_missing(self.snapshot.storage, kept)
            if storage != self.snapshot.storage:
                self.snapshot = replace(self.snapshot, storage=storage)
        system = self.choices.system()
        known = [name for name, _ in updates.names(records)]
        if system not in known:
            system = known[0] if known else ""
        shown = replace(
            updates.with_records(self.snapshot, records, system, now),
            demo=self._books.demo is not None,
            alkalinity_unit=self.choices.unit(),
            verdict=self._verdicts.of(system),
        )
        self.snapshot = self._danger.recalled(updates.decided(shown))
        weighs = self._danger.wants_weighing(self.snapshot)
        if weighs:
            self._weighing = asyncio.create_task(self._weigh())
        self._verdicts.keep_when_told(self.snapshot, weighed=not weighs)

    @contained("dangers")
    async def _weigh(self) -> None:
        """Work the hazards out once the decision is on the screen."""
        await drawn()
        self.snapshot = self._danger.weighed(self.snapshot)
        self._verdicts.keep_when_told(self.snapshot, weighed=True)

    async def hear_recall(self) -> None:
        """Decide again, on screen and card, where this build was recalled or is so no longer."""
        if await self.version.ask_recalled():
            self.refresh_if_ready()
            await self.publish()

    def refresh_if_ready(self) -> None:
        """Decide again at the present time, as when the app comes back to the front."""
        if self.snapshot.ready and self._books.is_open:
            self.refresh()

    def new_system_id(self) -> str:
        """Return an id for another system."""
        return self._new_id("system")

    def go(self, path: str) -> None:
        """Show another screen; a notice of the one before has been seen."""
        self.dismiss()
        self.go_on(path)

    def go_on(self, path: str) -> None:
        """Show another screen and keep the notice: it says what was just done."""
        self._moves += 1
        self.version.hold(held=False)
        self.refresh_if_ready()
        self._navigate(path)

    def working(self) -> AbstractContextManager[None]:
        """Hold updates back while something is being saved."""
        return self.version.working()

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
            id=self._books.current.repository.next_id(),
            at=self._local(at or now),
            recorded_at=now,
            system=system or self.snapshot.system,
            **fields,
        )

    def remake(self, old: Record, fields: Mapping[str, Any], at: datetime) -> Record:
        """Return a record with some fields changed and all others kept; nothing is saved."""
        new_id = self._books.current.repository.next_id()
        return replace(old, id=new_id, at=at, recorded_at=self._clock(), **fields)

    async def save(
        self,
        records: Iterable[Record],
        what: str = "",
        *,
        meta: Mapping[str, Any] | None = None,
        may_undo: bool = True,
        then: str = "",
    ) -> bool:
        """Append the records as one; True once they are on storage. Offers to take them back.

        `then` is the place to show with the notice, unless the keeper went elsewhere meanwhile.
        """
        batch = tuple(records)
        ids = tuple(record.id for record in batch if may_undo)
        return await self._append(
            batch, self._leading(then, lambda: self._tell_saved(what, ids)), meta
        )

    def _leading(self, then: str, tell: Callable[[], None]) -> Callable[[], None]:
        """Return what tells that it is saved and goes on, unless a tap went elsewhere first."""
        moves = self._moves

        def told() -> None:
            tell()
            if then and self._moves == moves:
                self.version.hold(held=False)
                self._navigate(then)

        return told

    async def _append(
        self,
        records: Sequence[Record],
        tell: Callable[[], None],
        meta: Mapping[str, Any] | None = None,
    ) -> bool:
        """Append the records as one, decide again and `tell`; on failure say why."""
        batch = [to_dict(record) for record in records]
        book = self._books.current
        self.snapshot = replace(self.snapshot, saving=True, notice=None)
        with self.working():
            try:
                for data in batch:
                    from_dict(data)
                await book.repository.append(batch, meta=meta)
            except (AppError, EngineError) as error:
                self.say("danger", sentence(error))
                await self.describe_storage()  # it may have closed the store: a banner says so
                return False
            self.refresh()
            if book is not self._books.current:
                return False  # the demo was entered or left meanwhile: another log is shown
            tell()
            await self.after_save()
        return True

    def _tell_saved(self, what: str, ids: tuple[str, ...]) -> None:
        """Say that it is saved, and take the sentence away once the offer to undo is over."""
        notice = updates.saved_notice(what, ids)
        self.snapshot = replace(self.snapshot, notice=notice, saving=False)

        def fade() -> None:
            if self.snapshot.notice is notice:
                self.dismiss()

        asyncio.get_running_loop().call_later(updates.UNDO_SECONDS, fade)

    async def after_save(self) -> None:
        """Publish the card's figures of the keeper's own records, then ask about the storage."""
        tried("windows", self.windows.saved, None)
        self._rest()
        await self.publish()
        if self._books.demo is None and not self.snapshot.storage.persisted:
            self._keeping.ask_to_persist(self.describe_storage)
        await self.describe_storage()

    @contained("card")
    async def publish(self) -> None:
        """Give the emergency card the figures of every system, never the demo's.

        Nothing after an erasing that did not come to its end: what is in memory was to go.
        """
        await drawn()
        kept = self._books.kept
        if kept is None or self._books.demo is not None:
            return
        if not isinstance(kept.repository.blocked, ErasureStands):
            book = self._danger.book
            own = figures.for_card(kept.records(), self.snapshot, self._clock(), book)
            await self._keeping.publish(own)

    @contained("card")
    async def clear_card(self) -> None:
        """Take the systems' figures off the emergency card; the general card is complete."""
        await self._keeping.publish(figures.of_none(self._clock()))

    def new_run_id(self) -> str:
        """Return an id for a run of a procedure."""
        return self._new_id("run")

    async def amend(self, superseded: str, replacement: Record, then: str = "") -> bool:
        """Supersede a record by another one; `then` as for `save`."""
        amendment = self.make(Amendment, {"supersedes": superseded, "replacement": replacement})
        return await self._append(
            [amendment], self._leading(then, lambda: self.say("good", TEXTS["amended"]))
        )

    async def withdraw(self, ids: Iterable[str], told: str = "withdrawn", then: str = "") -> bool:
        """Supersede records by nothing, as one; `then` as for `save`."""
        batch = [self.make(Amendment, {"supersedes": superseded}) for superseded in ids]
        return await self._append(batch, self._leading(then, lambda: self.say("good", TEXTS[told])))

    async def undo(self, _event: Any = None) -> None:
        """Withdraw what was saved last, while the offer stands."""
        notice = self.snapshot.notice
        if notice is not None and notice.undo_ids:
            await self.withdraw(notice.undo_ids, "undone")

    async def save_setup(self, records: Sequence[Record], then: str = "") -> bool:
        """Save a set-up, what was said with it, and make its system the current one.

        There is no undo: it would take the system away, and Setup changes every answer.
        """
        meta = {META_SYSTEM: records[0].system, META_SETUP_DRAFT: None}
        return await self.save(records, TEXTS["setup"], meta=meta, may_undo=False, then=then)

    # ---- demo

    async def enter_demo(self, _event: Any = None) -> None:
        """Show the invented system; what is recorded in it is not kept."""
        await self._books.enter_demo(self._clock())
        self._show_book()

    async def leave_demo(self, _event: Any = None) -> None:
        """Return to the keeper's own records."""
        await self._books.leave_demo()
        self._show_book()

    def _show_book(self) -> None:
        self.snapshot = replace(self.snapshot, notice=None, preview=None, sheet=None)
        self.refresh()
        self._navigate("/")

    # ---- notices and the host

    def dismiss(self, _event: Any = None) -> None:
        """Put the notice away."""
        self.snapshot = replace(self.snapshot, notice=None)

    def say(self, tone: Tone, text: str) -> None:
        """Show a sentence over the screens."""
        self.snapshot = updates.with_notice(self.snapshot, tone, text)

    def open_emergency(self, _event: Any = None) -> None:
        """Show the emergency card over the app."""
        self._host.open_emergency()

    @contained("storage")
    async def describe_storage(self) -> None:
        """Take the facts about the keeper's own storage into the snapshot."""
        if self._books.kept is not None:
            storage = await self._keeping.state(self._books.kept)
            self.snapshot = replace(self.snapshot, storage=storage)

    def report(self) -> str:
        """Return the report of what failed last, for the keeper to hand on; empty if it fails."""
        return tried(
            "report",
            lambda: bug_report.report(
                self.snapshot.records,
                boundary.last,
                now=self.snapshot.now,
                build=self.version.build_id(),
            ),
            "",
        )
