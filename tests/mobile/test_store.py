"""The store's commands: one at a time, never "Saved" before the flush, always a sentence."""

import asyncio
from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any

from engine.log.record_codec import to_dict
from engine.procedures.answers import RunDraft
from engine.records import Note, ProcedureEvent, Refill, WaterTest
from mobile.host import DesktopHost, HostError
from mobile.state.snapshot import Snapshot
from mobile.storage.transfer import export_bytes
from tests.support.app import START, Phone, Running, first_records, scenario_records


class Slow:
    """A repository whose saves wait until they are let go."""

    def __init__(self, inner: Any) -> None:
        self.inner = inner
        self.gate = asyncio.Event()

    def __getattr__(self, name: str) -> Any:
        return getattr(self.inner, name)

    async def append(
        self, records: Sequence[Mapping[str, Any]], *, meta: Mapping[str, Any] | None = None
    ) -> Any:
        await self.gate.wait()
        return await self.inner.append(records, meta=meta)


async def test_saved_is_said_only_after_the_flush(phone: Phone):
    app = await phone.open(wrap=Slow, records=first_records())
    await app.go("/record/calcium")
    await app.type("420")
    save = app.screen.find("save")
    task = asyncio.ensure_future(app.screen.session.dispatch_event(save._i, "click", None))
    await app.screen.settle()
    assert app.notice == ""
    assert app.store.snapshot.saving
    assert app.screen.find("save").disabled
    assert app.path == "/record/calcium"
    app.repository.gate.set()
    await task
    await app.screen.settle()
    assert app.notice == "Saved: Calcium 420 mg/L."
    assert not app.store.snapshot.saving


async def test_snapshot_is_replaced_never_changed(app: Running):
    before = app.store.snapshot
    records = before.records
    await app.record("calcium", "420")
    assert app.store.snapshot is not before
    assert before.records is records
    assert len(app.store.snapshot.records) == len(records) + 1


async def saving(app: Running) -> asyncio.Future[Any]:
    """Type a calcium test and tap Save; the storage waits for its gate."""
    await app.go("/record/calcium")
    await app.type("420")
    save = app.screen.find("save")
    task = asyncio.ensure_future(app.screen.session.dispatch_event(save._i, "click", None))
    await app.screen.settle()
    return task


async def test_the_app_is_back_on_today_when_saved_is_said(phone: Phone, monkeypatch):
    """What is done after a save must not keep the way back, or a tap after it is thrown back."""
    app = await phone.open(wrap=Slow, records=first_records())
    seen: list[tuple[str, bool]] = []

    async def after_save(_store: Any) -> None:
        seen.append((app.path, app.store.snapshot.notice is not None))

    monkeypatch.setattr(type(app.store), "after_save", after_save)
    task = await saving(app)
    app.repository.gate.set()
    await task
    assert seen == [("/", True)]


async def test_a_tap_after_save_wins_over_the_way_back(phone: Phone):
    app = await phone.open(wrap=Slow, records=first_records())
    task = await saving(app)
    await app.place("plan")
    app.repository.gate.set()
    await task
    await app.screen.settle()
    assert app.path == "/plan"
    assert app.notice == "Saved: Calcium 420 mg/L."
    assert len(app.stored("water_test")) == 1


async def test_record_out_of_range_is_refused_whole(app: Running):
    good = app.store.make(Note, {"note": "fine"})
    bad = app.store.make(Refill, {"volume_L": 1e9})
    assert not await app.store.save([good, bad])
    await app.screen.settle()
    assert app.store.snapshot.notice is not None
    assert app.store.snapshot.notice.tone == "danger"
    assert app.notice.startswith("NOT saved: one of the numbers cannot be right")
    assert app.stored("note") == app.stored("refill") == []
    assert not app.store.snapshot.saving


async def test_saved_records_and_choices_survive_a_kill(phone: Phone, app: Running):
    await app.store.choices.choose_unit("meq/L")
    await app.record("calcium", "420")
    stored = app.stored()
    app = await phone.reopen(app)
    assert app.stored() == stored
    assert app.store.snapshot.alkalinity_unit == "meq/L"
    assert isinstance(app.store.snapshot.standing[-1], WaterTest)


async def test_ids_are_never_used_twice_after_a_kill(phone: Phone, app: Running):
    for digits in ("420", "421"):
        await app.record("calcium", digits)
        app = await phone.reopen(app)
    ids = [record["id"] for record in app.stored()]
    assert len(set(ids)) == len(ids) == 4


async def test_undo_takes_back_everything_of_one_save(app: Running):
    notes = [app.store.make(Note, {"note": text}) for text in ("one", "two")]
    await app.store.save(notes)
    await app.store.undo()
    assert [a["supersedes"] for a in app.stored("amendment")] == [note.id for note in notes]
    await app.store.undo()
    assert len(app.stored("amendment")) == 2, "nothing is left to take back"


async def test_undo_is_gone_once_the_notice_is(app: Running):
    await app.record("calcium", "420")
    app.store.dismiss()
    await app.store.undo()
    assert app.stored("amendment") == []


class Unwilling(DesktopHost):
    """A page that can tell nothing about its storage."""

    async def persisted(self) -> bool | None:
        raise HostError("persisted: SecurityError")

    async def request_persistence(self) -> bool | None:
        raise HostError("request_persistence: SecurityError")

    async def storage_estimate(self) -> tuple[int, int] | None:
        raise HostError("storage_estimate: SecurityError")

    async def publish_figures(self, figures: dict[str, Any]) -> None:
        raise HostError("publish_figures: no caches")

    async def apply_update(self) -> bool:
        raise HostError("apply_update: no worker")


async def test_host_that_can_tell_nothing_stops_neither_start_nor_save(phone: Phone):
    app = await phone.open(records=first_records(), host=Unwilling())
    assert app.has("decision")
    await app.record("calcium", "420")
    assert app.notice == "Saved: Calcium 420 mg/L."
    await app.go("/setup")
    assert app.says("In a folder on this machine")
    app.store.version.found()
    await app.screen.settle()
    await app.tap("update-now")
    assert app.notice.startswith("The new version waits")


class Asking(DesktopHost):
    """A browser that asks its keeper whether storage may be kept, and waits for the answer."""

    def __init__(self) -> None:
        super().__init__()
        self.answered = asyncio.Event()
        self.asked = 0

    async def persisted(self) -> bool | None:
        return self.answered.is_set()

    async def request_persistence(self) -> bool | None:
        self.asked += 1
        await self.answered.wait()
        return True


async def test_card_gets_the_saved_figures_before_the_browser_is_answered(phone: Phone):
    host = Asking()
    app = await phone.open(records=first_records(), host=host)
    await app.record("delivery_setting", "5.5")
    assert app.notice.startswith("Saved")
    assert host.figures is not None
    own = host.figures
    assert own["systems"][0]["limewater_L_per_day"] == 5.5
    await app.store.enter_demo()
    host.answered.set()
    await app.screen.settle()
    await app.record("calcium", "433")
    assert host.figures == own, "never the demo's"
    await app.store.leave_demo()
    await app.record("calcium", "420")
    assert host.asked == 1
    assert app.store.snapshot.storage.persisted is True


async def test_save_that_ends_in_the_demo_publishes_nothing_of_it(phone: Phone):
    app = await phone.open(wrap=Slow, records=first_records())
    save = asyncio.ensure_future(app.store.save([app.store.make(Note, {"note": "mine"})]))
    await app.screen.settle()
    await app.store.enter_demo()
    app.repository.gate.set()
    assert not await save, "what is on the screen is not what was saved"
    assert app.host.figures is None
    assert app.store.snapshot.notice is None
    await app.store.leave_demo()
    assert len(app.stored("note")) == 1


async def test_no_update_reloads_the_page_while_something_is_saved(phone: Phone):
    app = await phone.open(wrap=Slow, records=first_records())
    assert not app.host.busy
    save = asyncio.ensure_future(app.store.save([app.store.make(Note, {"note": "held"})]))
    await app.screen.settle()
    assert app.host.busy
    app.repository.gate.set()
    await save
    assert not app.host.busy


async def test_emergency_card_gets_every_system_the_shown_one_first(phone: Phone):
    reef = first_records(START, "reef")
    kettle = scenario_records("kettle_winter", START)
    app = await phone.open(records=(*reef, *kettle))
    (first, first_name), (second, second_name) = app.store.snapshot.systems
    for system, names in ((second, [second_name, first_name]), (first, [first_name, second_name])):
        await app.store.choices.choose_system(system)
        assert app.host.figures is not None
        assert [own["name"] for own in app.host.figures["systems"]] == names
    assert all(len(own["net_volume_L"]) == 3 for own in app.host.figures["systems"])


async def test_set_up_dated_by_a_wrong_clock_hides_nothing(phone: Phone):
    setup, setting = first_records(START.replace(year=2031))
    app = await phone.open(records=(setup, setting))
    assert not app.has("start-setup")
    assert app.says("My reef")
    await app.go("/setup/system")
    await app.type("500", "net_volume_L")
    await app.tap("go-on")
    assert app.store.snapshot.setup is not None
    assert app.store.snapshot.setup.net_volume_L == 500.0, "the one entered last is in force"
    app = await phone.reopen(app)
    assert app.store.snapshot.setup is not None
    assert app.store.snapshot.setup.net_volume_L == 500.0
    assert app.store.snapshot.systems == (("reef", "My reef"),)


async def test_second_tap_while_a_file_is_taken_in_does_nothing(phone: Phone, app: Running):
    repository = app.repository
    await app.store.transfer.picked(_export_of(START))
    gate, calls = asyncio.Event(), []
    apply = repository.apply_import

    async def slow(preview: Any, **options: Any) -> Any:
        calls.append(preview)
        await gate.wait()
        return await apply(preview, **options)

    repository.apply_import = slow  # pyright: ignore[reportAttributeAccessIssue]
    taps = [asyncio.ensure_future(app.store.transfer.apply()) for _ in range(2)]
    await app.screen.settle()
    assert app.host.busy
    gate.set()
    assert sorted(await asyncio.gather(*taps)) == [False, True]
    assert len(calls) == 1
    assert not app.host.busy


def _export_of(now: datetime) -> bytes:
    (setup, _) = first_records(now, "elsewhere")
    return export_bytes([{**to_dict(setup), "id": "elsewhere0000001:1"}], now)


async def test_second_tap_on_a_step_while_it_is_saved_does_nothing(phone: Phone):
    app = await phone.open(wrap=Slow, records=first_records())
    draft = RunDraft(
        run="run-1",
        procedure="recharge_vessel",
        event=ProcedureEvent.STARTED,
        step="",
        answer="",
    )
    taps = [asyncio.ensure_future(app.store.runs.save([draft])) for _ in range(2)]
    await app.screen.settle()
    app.repository.gate.set()
    assert await asyncio.gather(*taps) == [True, False]
    assert len(app.stored("procedure_run")) == 1


async def test_emergency_figures_of_the_current_system_follow_each_save(app: Running):
    assert app.host.figures is None
    await app.go("/setup/safety")
    await app.type("90", "salt_water_ready_L")
    await app.write("words-phone_vet", "0123 456")
    await app.tap("go-on")
    assert app.host.figures is not None
    assert app.host.figures["saved_at"] == START.isoformat()
    (system,) = app.host.figures["systems"]
    assert system["salt_water_ready_L"] == 90.0
    assert system["phones"] == [{"label": "Vet", "number": "0123 456"}]


async def test_store_that_was_never_opened_shows_only_that_it_opens(phone: Phone):
    app = await phone.open()
    app.store.snapshot = Snapshot(now=START)
    await app.screen.settle()
    assert app.says("Opening your records")
    app.store.refresh_if_ready()
    assert not app.store.snapshot.ready


async def test_other_systems_records_do_not_mix_in(phone: Phone):
    reef = first_records(START, "reef")
    app = await phone.open(records=(*reef, *scenario_records("kettle_winter", START)))
    (first, _), (second, _) = app.store.snapshot.systems
    for system in (first, second):
        await app.store.choices.choose_system(system)
        assert app.store.snapshot.system == system
        assert {record.system for record in app.store.snapshot.records} == {system}
        assert app.store.snapshot.setup is not None
        assert app.store.snapshot.setup.system == system
