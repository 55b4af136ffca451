"""What comes when, on the screen: lists, choices, and the file for the phone's calendar."""

import re
from datetime import UTC, timedelta

import pytest
from icalendar import Calendar

from engine.jobs.codes import Job, JobCode
from engine.stock.codes import StockCode
from mobile.texts.jobs import TEXTS
from mobile.texts.stock import TEXTS as STOCK
from tests.support.app import SCENARIOS, START, Phone, Running, scenario_records


async def opened(phone: Phone, name: str = "demo_system") -> Running:
    return await phone.open(records=scenario_records(name, START))


async def exported(app: Running) -> Calendar:
    await app.go("/jobs")
    await app.tap("export-calendar")
    (data,) = app.files.saved.values()
    return Calendar.from_ical(data)


def by_uid(calendar: Calendar) -> dict[str, object]:
    return {str(event["uid"]): event for event in calendar.walk("VEVENT")}


def test_every_code_has_its_words_and_they_are_short():
    assert [code for code in JobCode if code not in TEXTS] == []
    assert [job for job in Job if f"name_{job}" not in TEXTS] == []
    assert [code for code in StockCode if code not in STOCK] == []
    for text in (*TEXTS.values(), *STOCK.values()):
        for said in re.split(r"(?<=[.?!:;])\s", text):
            assert len(said.split()) <= 18, said


async def test_today_names_a_few_and_leads_to_all(phone: Phone):
    app = await opened(phone)
    assert app.says("Refill the fresh-water container: ")
    await app.tap("to-jobs")
    assert app.path == "/jobs"
    assert app.has("job-recharge")
    assert app.says("What comes when")


async def test_nothing_to_do_stays_a_full_answer(phone: Phone):
    app = await opened(phone)
    assert "L a day is right." in app.text("decision")


async def test_the_page_says_that_it_gives_no_alarm(phone: Phone):
    app = await opened(phone)
    await app.go("/jobs")
    assert app.says("This app gives no alarm: a web page cannot ring.")


async def test_a_job_is_marked_done_and_moves_on(phone: Phone):
    app = await opened(phone)
    await app.go("/jobs/ro_filters")
    await app.tap("mark-done")
    assert app.path == "/jobs"
    assert app.stored("job_done")[-1]["job"] == "ro_filters"
    app = await phone.reopen(app) if phone._folder else app
    await app.go("/jobs/ro_filters")
    assert app.says("Last done less than an hour ago.")


async def test_interval_snooze_and_off_are_kept_with_their_reason(phone: Phone):
    app = await opened(phone)
    await app.go("/jobs/strength_check")
    await app.tap("why-why_parts", "snooze-3")
    kept = app.stored("job_choice")[-1]
    assert (kept["snoozed_days"], kept["note"]) == (3.0, "Waiting for parts")
    assert app.says("Your reason: Waiting for parts")
    await app.tap("snooze-stop", "interval-14")
    assert app.says("Your own interval is 14 days.")
    await app.tap("turn-off")
    assert app.stored("job_choice")[-1]["off"] is True
    await app.go("/jobs")
    assert app.says("Turned off")
    await app.go("/jobs/strength_check")
    await app.tap("turn-on")
    assert app.stored("job_choice")[-1]["off"] is False
    assert app.stored("job_choice")[-1]["interval_days"] == 14.0


async def test_do_it_now_leads_to_where_it_is_done(phone: Phone):
    app = await opened(phone)
    await app.go("/jobs/recharge")
    await app.tap("do-it")
    assert app.path == "/mix/recharge_vessel"


async def test_an_unknown_job_says_so(phone: Phone):
    app = await opened(phone)
    await app.go("/jobs/no_such_job")
    assert app.says(TEXTS["not_applicable"])


# ---- the calendar's file


@pytest.mark.parametrize("name", SCENARIOS)
async def test_file_is_read_by_the_reference_parser(phone: Phone, name: str):
    app = await opened(phone, name)
    calendar = await exported(app)
    assert calendar["version"] == "2.0"
    assert calendar["method"] == "PUBLISH"
    events = calendar.walk("VEVENT")
    assert len(events) > 3
    assert len(by_uid(calendar)) == len(events), "one entry a job"
    for event in events:
        assert event.errors == []
        for needed in ("uid", "dtstamp", "dtstart", "dtend", "summary", "sequence"):
            assert needed in event, needed
        assert event["dtstamp"].dt.utcoffset() == timedelta(0)
        assert event["dtstart"].dt.tzinfo is None, "a wall clock's time"
        assert event["dtstart"].dt > START.replace(tzinfo=None)
        (alarm,) = event.walk("VALARM")
        assert (alarm["action"], alarm["trigger"].dt) == ("DISPLAY", timedelta(0))


async def test_export_again_moves_the_same_entries_and_doubles_none(phone: Phone):
    app = await opened(phone)
    first = by_uid(await exported(app))
    app.files.saved.clear()
    app.clock.move(days=1)
    await app.record("total_alkalinity", "8.2")
    if app.has("keep"):
        await app.tap("keep")
    second = by_uid(await exported(app))
    test = f"test_total_alkalinity-{app.store.snapshot.system}@sumpside"
    assert set(first) == set(second)
    assert second[test]["dtstart"].dt > first[test]["dtstart"].dt
    assert all(second[uid]["sequence"] > first[uid]["sequence"] for uid in first)


async def test_what_no_longer_comes_is_cancelled_under_its_own_name(phone: Phone):
    app = await opened(phone)
    first = by_uid(await exported(app))
    uid = f"strength_check-{app.store.snapshot.system}@sumpside"
    assert first[uid]["status"] == "CONFIRMED"
    await app.go("/jobs/strength_check")
    await app.tap("turn-off")
    app.files.saved.clear()
    app.clock.move(minutes=5)
    second = by_uid(await exported(app))
    assert second[uid]["status"] == "CANCELLED"
    assert second[uid]["sequence"] > first[uid]["sequence"]
    assert set(first) == set(second)


async def test_text_with_signs_of_the_format_comes_back_whole(phone: Phone):
    from mobile.commands.calendar_file import calendar_file
    from mobile.state.calendar_events import Event

    odd = "Fill; drain, \\n <b>&\nBEGIN:VEVENT äöü 水 " + "long " * 40
    event = Event(uid="x@sumpside", title=odd, about=odd, starts=START.replace(tzinfo=None))
    data = calendar_file([event], [], START)
    assert all(len(line) <= 75 for line in data.split(b"\r\n"))
    (back,) = Calendar.from_ical(data).walk("VEVENT")
    assert str(back["summary"]) == odd
    assert str(back["description"]) == odd


async def test_lime_is_handled_by_day_and_tests_at_the_usual_hour(phone: Phone):
    app = await opened(phone)
    events = by_uid(await exported(app))
    system = app.store.snapshot.system
    assert events[f"recharge-{system}@sumpside"]["dtstart"].dt.hour == 10
    tests = [r for r in app.store.snapshot.standing if r.kind == "water_test"]
    last = max(r.at for r in tests if any(x.parameter == "total_alkalinity" for x in r.readings))
    hour = last.astimezone(UTC).hour
    assert events[f"test_total_alkalinity-{system}@sumpside"]["dtstart"].dt.hour == hour


# ---- powder


async def test_powder_page_tells_the_day_plots_it_and_advises_weighing(phone: Phone):
    app = await opened(phone)
    await app.go("/plan/powder")
    assert app.text("powder-lead").startswith("The limewater runs weak between ")
    assert app.has("powder-plot")
    assert app.says("Next recharge: ")
    assert app.says("Weigh it. A level teaspoon holds anything from 1.6 to 3.2 g")
    assert app.says("620 g of powder on the shelf.")
    assert app.says("Order by ")


async def test_before_any_powder_is_recorded_the_page_asks_for_it(app: Running):
    await app.go("/plan/powder")
    assert app.text("powder-lead").startswith("What is in use is not known.")
    assert app.says("Record what you buy, or count once")
    assert not app.has("powder-plot")


async def test_a_kit_bought_shows_on_the_powder_page_and_in_the_list(phone: Phone):
    app = await opened(phone)
    await app.go("/record/supply_kit")
    await app.type("4", "tests_count")
    await app.tap("save")
    await app.go("/plan/powder")
    assert app.has("supply-alkalinity_kit")
    assert app.says("Alkalinity test: 4 tests left.")
    await app.go("/jobs")
    assert app.has("job-buy_kit")


async def test_powder_page_tells_how_to_store_and_what_a_year_costs(phone: Phone):
    app = await opened(phone)
    await app.go("/record/powder_stock")
    for key, digits in (("powder_g", "2000"), ("pack_g", "1000"), ("price", "30")):
        await app.type(digits, key)
    await app.tap("save")
    await app.go("/plan/powder")
    assert app.says("Keep it sealed, dry, in an airy place, locked away from children and animals.")
    assert app.says("Never in a drinks bottle, never in aluminium or zinc.")
    care = app.store.snapshot.ahead.care_by_season
    year_g = care.shelf.year_g
    assert care.shelf.year_price == pytest.approx(year_g * 30.0 / 2000.0)
    said = next(text for text in app.screen.texts() if text.startswith("At the last price"))
    money = float(re.findall(r"about ([\d.]+)", said)[0])
    assert money == pytest.approx(year_g * 0.015, rel=0.06)
    assert app.says(" packs of 1 kg") or app.says(" packs of 1000 g"), app.screen.texts()


async def test_a_scoop_weighed_once_is_offered_and_weighing_still_advised(phone: Phone):
    app = await opened(phone)
    await app.go("/setup/powder")
    await app.type("2.5", "scoop_g")
    await app.tap("go-on")
    assert app.store.snapshot.setup.scoop_g == 2.5
    await app.go("/plan/powder")
    said = next(text for text in app.screen.texts() if text.startswith("By your own scoop"))
    grams = float(re.findall(r"Next recharge: (\d+) g", "\n".join(app.screen.texts()))[0])
    count = float(re.findall(r"about (\d+) level", said)[0])
    assert abs(count * 2.5 - grams) <= 1.75, (count, grams)
    assert said.endswith("Weighing is always better.")


async def test_a_kit_past_its_date_says_so_and_is_to_be_bought(phone: Phone):
    app = await opened(phone)
    await app.go("/record/supply_kit")
    await app.type("50", "tests_count")
    await app.type("20", "good_for_days")
    await app.tap("save")
    await app.go("/plan/powder")
    assert app.says("Good until ")
    assert app.says("Enough for ")
    app.clock.move(days=30)
    app.store.refresh_if_ready()
    await app.screen.settle()
    await app.go("/plan/powder")
    assert app.says("Past its date for 10 days. Replace it before you trust a number.")
    await app.go("/jobs/buy_kit")
    assert app.says("Alkalinity test: used up or past its date.")
