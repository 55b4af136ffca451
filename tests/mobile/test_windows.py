"""Two windows on one store: one writes, the other follows and takes over; never both."""

import asyncio

import pytest

from mobile.commands import windows
from mobile.host import DesktopHost
from mobile.storage.errors import JournalStopped
from tests.support.app import Phone, Running


async def beside(phone: Phone, app: Running) -> Running:
    host = DesktopHost()
    host.join(app.host)
    return await phone.open(host=host)


async def settle(*apps: Running) -> None:
    for _ in range(3):
        for app in apps:
            await app.screen.settle()
            await asyncio.sleep(0)


def writers(*apps: Running) -> int:
    return sum(app.repository.blocked is None for app in apps)


async def test_the_second_window_follows_without_a_reload(phone: Phone, app: Running):
    second = await beside(phone, app)
    await second.go("/history")
    await app.record("calcium", "420")
    await settle(app, second)
    assert second.stored() == app.stored()
    assert second.says("Calcium: 420 mg/L")
    assert writers(app, second) == 1


async def test_one_tap_takes_over_and_the_first_window_reads(phone: Phone, app: Running):
    second = await beside(phone, app)
    await second.record("calcium", "430")
    assert second.notice.startswith("NOT saved")
    await second.tap("use-here")
    await settle(app, second)
    assert second.notice.startswith("Entries are saved from this window now.")
    assert (second.repository.blocked, writers(app, second)) == (None, 1)
    await second.tap("save")
    await settle(app, second)
    assert app.text("banner-read-only").startswith("Read only")
    assert app.stored() == second.stored()
    assert len(app.stored("water_test")) == 1
    await app.tap("use-here")
    await settle(app, second)
    assert (app.repository.blocked, writers(app, second)) == (None, 1)
    await app.record("calcium", "440")
    await settle(app, second)
    assert second.stored() == app.stored()
    ids = [record["id"] for record in app.stored()]
    assert len(set(ids)) == len(ids)


async def test_a_window_that_does_not_answer_keeps_the_records(
    phone: Phone, app: Running, monkeypatch: pytest.MonkeyPatch
):
    monkeypatch.setattr(windows, "PATIENCE_S", 0.01)
    second = await phone.open()  # they cannot hear each other
    await second.tap("use-here")
    assert second.notice.startswith("The other window did not let go.")
    assert writers(app, second) == 1
    assert app.repository.blocked is None


async def test_a_save_under_way_is_finished_before_another_window_writes(
    phone: Phone, app: Running
):
    second = await beside(phone, app)
    await app.go("/record/calcium")
    await app.type("420")
    saving = asyncio.ensure_future(app.tap("save"))
    await second.tap("use-here")
    await saving
    await settle(app, second)
    assert writers(app, second) == 1
    assert len(second.stored("water_test")) == 1


async def test_what_a_pause_broke_is_opened_again(app: Running):
    app.repository._journal._blocked = JournalStopped(cause="storage_failed")
    await app.store.windows.wake()
    assert app.repository.blocked is None
    await app.record("calcium", "420")
    assert app.notice.startswith("Saved")


async def test_coming_back_reads_on(phone: Phone, app: Running):
    second = await phone.open()
    await app.record("calcium", "420")
    assert len(second.stored()) == 2
    await second.store.windows.wake()
    assert second.stored() == app.stored()
