"""The minder's sheet: from the records, in the card's own words, escaped, on one page."""

import re
from dataclasses import replace
from html import unescape
from pathlib import Path

import pytest

from engine.records import Setup
from mobile.bootstrap import ROOT
from mobile.state import updates
from mobile.state.minder import MinderView, minder
from mobile.state.minder_html import minder_html
from mobile.state.snapshot import Snapshot
from mobile.texts.minder import EYES, NEVER, SKIN, STEPS, TEXTS
from tests.support.app import SCENARIOS, START, Phone, first_records, scenario_records
from tests.support.keeper_log import NOW, SYSTEM, kettle

CARD = (ROOT / "mobile/web/emergency.html").read_text(encoding="utf-8")


async def sheet(phone: Phone, name: str = "demo_system", **changes) -> MinderView:
    records = [
        replace(record, **changes) if isinstance(record, Setup) else record
        for record in scenario_records(name, START)
    ]
    app = await phone.open(records=tuple(records))
    view = minder(app.store.snapshot)
    assert view is not None
    return view


@pytest.mark.parametrize("said", [*STEPS, *NEVER, *EYES, *SKIN, TEXTS["acid"]])
def test_emergency_and_first_aid_are_the_cards_own_sentences(said: str) -> None:
    assert said in unescape(re.sub(r"<[^>]+>", "", CARD))


async def test_ranges_and_amounts_come_from_the_records(phone: Phone) -> None:
    view = await sheet(phone, phone_vet="0123 456")
    normal = dict(view.normal)
    assert normal["Alkalinity"] == "7.5 to 9 dKH"
    assert normal["Temperature"] == "24 to 26 °C"
    assert normal["Limewater"] == "5 L a day, in 24 small doses"
    assert any("every 4 days at the latest. About 5.6 to 6.1 L a day" in s for s in view.daily)
    assert ("Vet", "0123 456") in view.phones


async def test_fresh_water_is_asked_for_by_the_most_that_evaporates(phone: Phone) -> None:
    """25 L at 7.5 L a day are empty after 3.3 days, by hand: every 3 days."""
    records = first_records()
    setup = replace(records[0], fresh_water_container_L=25.0)
    app = await phone.open(records=(setup, *records[1:]))
    view = minder(app.store.snapshot)
    assert view is not None
    assert any("every 3 days at the latest. About 6.3 to 7.5 L a day" in s for s in view.daily)


async def test_wait_is_the_near_end_of_the_computed_days(phone: Phone) -> None:
    app = await phone.open(records=scenario_records("demo_system", START))
    decision = app.store.snapshot.decision
    assert decision is not None
    low = decision.stop_safe.to_floor.floats("day").low
    assert low < 2.0, "the demo is a heavy tank"
    view = minder(app.store.snapshot)
    assert view is not None
    hours = int(re.findall(r"(\d+) h", view.wait[0])[0])
    assert hours <= low * 24.0 < hours + 1


@pytest.mark.parametrize("name", SCENARIOS)
async def test_every_log_has_a_sheet_that_says_how_long_it_may_wait(phone: Phone, name: str):
    view = await sheet(phone, name)
    assert view.wait[0]
    for text in (*view.daily, *view.leave, *view.wait):
        assert not re.search(r"[{}]|\bNone\b|_", text), text


async def test_unknown_wait_gives_no_number(phone: Phone) -> None:
    view = await sheet(phone, "back_room_untested")
    assert view.wait[0] == TEXTS["wait_unknown"]


async def test_paused_limewater_is_told_as_off(phone: Phone) -> None:
    app = await phone.open(records=scenario_records("demo_system", START))
    await app.record("delivery_setting", "0")
    if app.has("keep"):
        await app.tap("keep")
    view = minder(app.store.snapshot)
    assert view is not None
    assert dict(view.normal)["Limewater"] == TEXTS["limewater_off"]
    assert TEXTS["daily_drop"] not in view.daily


async def test_what_the_keeper_typed_brings_no_markup(phone: Phone) -> None:
    view = await sheet(phone, name="demo_system")
    evil = replace(
        view,
        title="<script>alert(1)</script>",
        phones=(("Vet", '"><img src=x onerror=alert(1)>'),),
        normal=(("a & b", "$title <b>"),),
    )
    page = minder_html(evil)
    assert "<script" not in page
    assert "<img" not in page
    assert "&lt;script&gt;" in page
    assert "$title &lt;b&gt;" in page
    assert "a &amp; b" in page


async def test_the_page_asks_for_nothing_outside(phone: Phone) -> None:
    page = minder_html(await sheet(phone))
    assert "default-src 'none'" in page
    assert re.findall(r"https?://|src=|href=|url\(", page) == []


async def test_saved_as_a_file_from_the_page(phone: Phone) -> None:
    app = await phone.open(records=scenario_records("demo_system", START))
    await app.go("/minder")
    assert app.has("set-phones"), "the demo has no phone numbers"
    await app.tap("save-minder")
    ((name, data),) = app.files.saved.items()
    assert name == "sumpside-minder-2026-11-24.html"
    assert b"Minding the tank: Slate Street (demo)" in data
    assert app.notice == TEXTS["saved"]


async def test_before_a_set_up_there_is_no_sheet(phone: Phone) -> None:
    app = await phone.open()
    assert minder(app.store.snapshot) is None


def test_sentences_are_short() -> None:
    for text in (*TEXTS.values(), *STEPS):
        for said in re.split(r"(?<=[.?!])\s", text):
            assert len(said.split()) <= 18, said


def write_longest(folder: Path, view: MinderView) -> Path:
    """Write the sheet at the longest that its fields allow."""
    wide = "W" * 20
    longest = replace(
        view,
        title=TEXTS["title"].format(name=f"{wide} {wide} Wwww wwww wwww www"),
        phones=tuple((whose, "+49 (0) 1234 / 567890 - 123456 ext 1234"[:40]) for whose in (
            "Emergency number", "Poison centre", "Vet")),
        daily=(*(TEXTS[key] for key in (
            "daily_animals", "daily_flow", "daily_level", "daily_drop", "daily_clear",
            "daily_drip", "daily_second")), *view.daily[-2:]),
    )  # fmt: skip
    path = folder / "sheet.html"
    path.write_text(minder_html(longest), encoding="utf-8")
    return path


@pytest.mark.parametrize("why", ["alarm", "incident"])
async def test_a_sheet_made_while_limewater_must_be_off_says_so(phone: Phone, why: str) -> None:
    log = kettle()
    log = log.read(0.1, pH_nbs=8.95) if why == "alarm" else log.incident(0.05)
    snapshot = updates.with_records(Snapshot(now=NOW), tuple(log.records), SYSTEM, NOW)
    view = minder(updates.decided(snapshot))
    assert view is not None
    assert dict(view.normal)["Limewater"] == TEXTS["limewater_stopped"]
    assert TEXTS["daily_drop"] not in view.daily
