"""The store's commands: one at a time, never "Saved" before the flush, always a sentence."""

import asyncio
from collections.abc import Mapping, Sequence
from typing import Any

from engine.records import Note, Refill, WaterTest
from mobile.state.snapshot import Snapshot
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
    await app.store.choose_unit("meq/L")
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
        await app.store.choose_system(system)
        assert app.store.snapshot.system == system
        assert {record.system for record in app.store.snapshot.records} == {system}
        assert app.store.snapshot.setup is not None
        assert app.store.snapshot.setup.system == system
