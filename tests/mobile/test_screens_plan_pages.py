"""The pages behind Plan and the plots of History: with the demo, a fresh system, each refusal."""

from datetime import datetime, timedelta
from math import cos, pi

import pytest

from engine.records import Container, Delivery
from mobile.state.plan_pages import PLAN_PAGES
from mobile.state.setup_route import setup_route
from mobile.state.snapshot import Snapshot
from mobile.state.today import today
from mobile.state.updates import decided, with_records
from tests.support.app import SCENARIOS, START, Phone, Running, not_for_people, scenario_records
from tests.support.keeper_log import NOW, KeeperLog, dkh, kettle

LIT = {"lights_on_hours": 10.0, "lights_off_hours": 21.0}
MONTHS = {"evaporation_high_month": 1, "evaporation_low_month": 7}
PATHS = (*(page.route for page in PLAN_PAGES), "/history/plot/total_alkalinity")

# One log for each way in which there is no plan, or none yet.
REFUSALS = {
    "limit_unset": lambda: kettle(keeper_cap_L_per_day=None),
    "alkalinity_missing": lambda: KeeperLog().setup().pump(30.0, 5.0),
    "tests_too_few": lambda: KeeperLog().setup().pump(30.0, 5.0).test(1.0, 8.2),
    "evaporation_unset": lambda: kettle(
        evaporation_low_L_per_day=None, evaporation_high_L_per_day=None
    ),
    "alkalinity_stale": lambda: KeeperLog().setup().pump(60.0, 5.3).test(40.0, 8.2).test(30.0, 8.2),
    "pH_too_high": lambda: kettle().read(0.1, pH_nbs=8.6),
    "pump_fault_low": lambda: kettle().pump_check(1.0, 100.0, 15.0),
    "alkalinity_above_band": lambda: kettle().test(0.2, 9.6).test(0.1, 9.6),
    "new_tank": lambda: falling(0.1, 0.0),
    "strength_unknown": lambda: kettle(
        delivery=Delivery.PUMP_CONTAINER, lime_container_L=None, vessel_L=None
    ).recharge(2.0, 60.0, Container.LIME),
}


def falling(per_day_dKH: float, pump: float, **setup) -> KeeperLog:
    log = KeeperLog().setup(100.0, **setup).pump(100.0, pump)
    for back in range(24, -1, -2):
        log.test(back + 0.2, 8.0 + per_day_dKH * back)
    return log


async def opened(phone: Phone, log: KeeperLog) -> Running:
    phone.clock.now = log.now
    return await phone.open(records=tuple(log.records))


def assert_for_people(app: Running) -> None:
    assert not app.failed, app.path
    assert [text for text in app.screen.texts() if text and not_for_people(text)] == [], app.path


@pytest.mark.faults
async def test_a_page_that_fails_would_be_seen(app: Running, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.delattr("mobile.screens.plan_pages.water")
    await app.go("/plan/water")
    with pytest.raises(AssertionError):
        assert_for_people(app)


async def test_plan_lists_its_pages_and_each_leads_back(phone: Phone):
    app = await phone.open(records=scenario_records("demo_system", START))
    for page in PLAN_PAGES:
        await app.go("/plan")
        title, line = app.all_words(f"page-{page.key}")
        assert title == page.title
        assert line
        await app.tap(f"page-{page.key}")
        assert app.path == page.route
        await app.tap("back")
        assert app.path == "/plan"


@pytest.mark.parametrize("name", SCENARIOS)
async def test_every_page_is_for_people_with_every_log(phone: Phone, name: str):
    app = await phone.open(records=scenario_records(name, START))
    for path in PATHS:
        await app.go(path)
        assert_for_people(app)


@pytest.mark.parametrize("code", REFUSALS)
async def test_every_page_stands_with_every_refusal(phone: Phone, code: str):
    log = REFUSALS[code]()
    codes = {found.code for found in log.decide().plan.reasons}
    assert code in codes, codes
    app = await opened(phone, log)
    for path in ("/", "/plan", *PATHS):
        await app.go(path)
        assert_for_people(app)
    await app.go("/plan/day")
    assert not app.says("Together "), "no doses without a plan"
    assert not app.has("day-plot")


async def test_every_page_stands_right_after_the_first_run(app: Running):
    for path in PATHS:
        await app.go(path)
        assert_for_people(app)
    await app.go("/plan/day")
    assert app.says("There is no dose to spread over the day.")
    await app.go("/plan/drift")
    await app.tap("way-drift-record-test")
    assert app.path == "/record/total_alkalinity"
    await app.go("/plan/year")
    assert app.says("No demand is known, so the year cannot be told.")


async def test_pages_are_not_there_before_the_first_run(phone: Phone):
    app = await phone.open()
    for path in PATHS:
        await app.go(path)
        assert app.has("start-setup")


# --- the day


async def test_day_tells_doses_run_time_and_pH(phone: Phone):
    app = await opened(phone, kettle(**LIT).read(0.5, pH_nbs=8.3))
    await app.go("/plan/day")
    assert app.says("24 doses of ")
    assert app.says("The pump runs ")
    assert app.says(" s (")
    assert app.says("One dose lifts pH by 0.0")
    assert app.has("day-plot")
    assert app.text("day-plot-says").startswith("Lights on from 10:00 to 21:00.")
    assert app.says("Fitted to the highest pH of this week, 8.30.")


async def test_day_without_the_lamp_asks_for_its_hours(phone: Phone):
    app = await opened(phone, kettle())
    await app.go("/plan/day")
    assert not app.has("day-plot")
    assert app.says("Enter when the lights go on and off to see the day's pH.")
    assert app.has("way-day-set-lights") == bool(setup_route("lights_on_hours"))


async def test_every_button_to_setup_leads_to_the_question(phone: Phone):
    """A page offers Setup only where Setup asks for the field, never a page that is not there."""
    log = kettle(5.3, evaporation_low_L_per_day=3.6, evaporation_high_L_per_day=4.6, **LIT).read(
        0.5, salinity=34.3
    )
    app = await opened(phone, log)
    ways = {
        ("/plan/year", "way-year-set-months"): "evaporation_high_month",
        ("/plan/water", "way-water-set-room"): "sump_room_L",
    }
    for (path, way), field in ways.items():
        await app.go(path)
        assert app.has(way) == bool(setup_route(field)), path
        if app.has(way):
            await app.tap(way)
            assert app.path == setup_route(field)
            assert not app.says("There is no such page.")
    assert setup_route("evaporation_low_L_per_day") == "/setup/evaporation"
    assert setup_route("nothing") == ""


async def test_few_doses_are_told_with_their_hours_and_many_are_not(phone: Phone):
    app = await opened(phone, kettle(doses_per_day=4, doses_at_night=True, **LIT))
    await app.go("/plan/day")
    assert app.says("in the dark")
    hours = next(t for t in app.screen.texts() if t.count(":") == 4 and "," in t)
    assert all(int(h.split(":")[0]) >= 21 or int(h.split(":")[0]) < 10 for h in hours.split(", "))


async def test_day_says_the_decision_first(phone: Phone):
    app = await phone.open(records=scenario_records("garnet_weak_vessel", START))
    decision = app.text("decision")
    await app.go("/plan/day")
    assert app.text("plan-lead") == decision


# --- the year and the water


async def test_year_is_drawn_and_listed_month_by_month(phone: Phone):
    own = {"evaporation_low_L_per_day": 3.6, "evaporation_high_L_per_day": 7.5}
    app = await opened(phone, kettle(**own, **MONTHS))
    await app.go("/plan/year")
    assert app.has("year-plot")
    assert app.says("Limewater possible")
    assert app.has(f"month-{NOW.year}-{NOW.month:02}")
    sheets = [c for c in app.screen.controls() if str(c.key or "").startswith("month-")]
    assert len(sheets) == 12
    assert any("Missing: " in text for text in app.screen.texts()), "there is no second source"


async def test_year_that_cannot_be_told_leads_to_what_would_tell_it(phone: Phone):
    app = await opened(phone, kettle())
    await app.go("/plan/year")
    assert app.says("The year cannot be told yet.")
    assert not app.has("year-plot")
    await app.tap("way-year-record-refill")
    assert app.path == "/record/refill"


async def test_water_tells_the_days_to_the_overflow(phone: Phone):
    log = kettle(
        5.3, evaporation_low_L_per_day=3.6, evaporation_high_L_per_day=4.6, sump_room_L=5.0
    ).read(0.5, salinity=34.3)
    app = await opened(phone, log)
    assert app.says("The sump is full in ")
    assert app.says("It may be at 34 PSU already")
    await app.tap("to-water")
    assert app.path == "/plan/water"
    assert app.says("The sump is full in ")


# --- the drift


async def test_drift_stands_on_today_and_leads_to_causes_and_their_measurements(phone: Phone):
    app = await phone.open(records=scenario_records("garnet_weak_vessel", START))
    assert app.says("The limewater is at 36 % of its strength")
    await app.tap("to-drift")
    assert app.path == "/plan/drift"
    assert app.says("1. Likely")
    assert app.says("It would explain about 98 % of the drift.")
    ways = [c.key for c in app.screen.controls() if str(c.key or "").startswith("measure-")]
    assert len(set(ways)) >= 5
    for way in sorted(set(ways)):
        await app.go("/plan/drift")
        await app.tap(way)
        assert app.path.startswith(("/record/", "/mix/"))
        assert not app.says("There is no such page.")


async def test_falling_demand_says_look_at_the_animals_first(phone: Phone):
    log = falling(-0.25, 5.3).strength(1.0, 0.99).pump_check(1.0, 100.0, 100.0)
    app = await opened(phone, log)
    assert app.text("decision").startswith("Look at the animals, temperature and salinity first.")
    await app.go("/plan/drift")
    assert app.text("drift-lead").startswith("Look at the animals first")


async def test_a_steady_tank_is_not_nagged(phone: Phone):
    app = await opened(phone, kettle())
    assert not app.has("to-drift")
    assert not app.has("to-water")
    await app.go("/plan/drift")
    assert app.text("drift-lead") == "Alkalinity and pH run as expected."


async def test_suspect_test_is_named_on_today_with_the_ask_to_repeat_it(phone: Phone):
    app = await opened(phone, kettle().test(0.1, 9.0))
    assert app.says("before you believe either.")


async def test_a_ceiling_of_a_refusal_is_not_told_as_a_plan(phone: Phone):
    log = KeeperLog().setup(keeper_cap_L_per_day=4.0).pump(30.0, 5.0).test(1.0, 8.2)
    app = await opened(phone, log)
    assert app.text("decision").startswith("Lower the pump: no more than ")
    await app.go("/plan")
    assert app.text("plan-lead").startswith("Lower the pump: no more than ")


def evaporates(now: datetime, days_ago: float) -> float:
    """Return what the keeper's months say of a day, L: most in mid January, least in mid July."""
    day = (now - timedelta(days=days_ago)).timetuple().tm_yday - 15.0
    return 5.8 + 1.6 * cos(2.0 * pi * day / 365.25)


def told_to_retune(now: datetime) -> bool:
    """Return whether Today names a day to retune, for a keeper whose wave falls after January."""
    own = {"evaporation_low_L_per_day": 3.6, "evaporation_high_L_per_day": 8.0, **MONTHS}
    log = KeeperLog(now).setup(60.0, **own).pump(60.0, 5.3)
    for days_ago in range(21, -1, -3):
        log.test(days_ago + 0.5, 8.3).refill(days_ago + 0.1, 3.0 * evaporates(now, days_ago))
    snapshot = decided(with_records(Snapshot(now=now), log.records, log.system, now))
    return any("more than evaporation allows" in line for line in today(snapshot).next_up)


def test_retune_is_told_within_two_weeks_and_not_sooner():
    told = [day for day in range(0, 120, 4) if told_to_retune(NOW + timedelta(days=day))]
    assert told, "a falling wave asks for it at some time"
    assert max(told) - min(told) <= 14
    assert min(told) > 0, "in the high month nothing is said"


# --- plots of History


async def test_history_draws_readings_band_and_litres(phone: Phone):
    app = await phone.open(records=scenario_records("demo_system", START))
    await app.go("/history")
    await app.tap("plots")
    assert app.path == "/history/plot/total_alkalinity"
    assert app.has("readings")
    assert app.has("litres")
    assert app.says("your band, 7.5 to 9 dKH")
    assert app.says("expected now, ")
    before = app.text("readings-says")
    await app.tap("span-30")
    assert app.text("readings-says") != before
    await app.tap("parameter-calcium")
    assert app.path == "/history/plot/calcium"
    assert app.says("usual, 400 to 450 mg/L")
    assert app.text("span-30").startswith("✓"), "the span stays chosen"
    await app.tap("back")
    assert app.path == "/history"


async def test_plot_without_readings_says_so_and_leads_to_record(app: Running):
    await app.go("/history/plot/nitrate")
    assert app.text("empty") == "Nothing of this is recorded yet."
    await app.tap("record-one")
    assert app.path == "/record/nitrate"
    await app.go("/history/plot/nothing")
    assert app.says("There is no such page.")


async def test_set_aside_test_is_marked_in_the_plot(phone: Phone):
    app = await opened(phone, kettle().test(0.1, 9.0))
    await app.go("/history/plot/total_alkalinity")
    assert app.says("set aside: does not fit")


async def test_alkalinity_is_drawn_in_the_keepers_unit(phone: Phone):
    app = await opened(phone, kettle())
    await app.store.choices.choose_unit("meq/L")
    await app.go("/history/plot/total_alkalinity")
    assert not app.says("dKH")
    assert app.says(f"{dkh(8.3):.2f} meq/L")


# --- the frame


def scrolls(app: Running) -> list[float]:
    """Return the offsets that the client was asked to scroll to."""
    sent = [m.body for m in app.screen.connection.messages if "INVOKE" in str(m.action)]
    return [body.args["offset"] for body in sent if body.name == "scroll_to"]


async def scroll(app: Running, path: str, pixels: float) -> None:
    data = {
        "event_type": "update", "pixels": pixels, "min_scroll_extent": 0.0,
        "max_scroll_extent": 5000.0, "viewport_dimension": 600.0,
    }  # fmt: skip
    await app.screen.fire(f"scroll-{path}", "scroll", data)


async def test_back_from_an_entry_stands_where_the_list_was_left(phone: Phone):
    app = await phone.open(records=scenario_records("demo_system", START))
    await app.place("history")
    await scroll(app, "/history", 840.0)
    record = app.store.snapshot.standing[-1].id
    await app.tap(f"line-{record}", "back")
    assert scrolls(app) == [840.0]
    await app.place("today")
    await app.place("history")
    assert scrolls(app) == [840.0], "any other way begins at the top"


async def test_unfolded_history_stays_unfolded(phone: Phone):
    app = await phone.open(records=tuple(long_log().records))
    await app.place("history")
    await app.tap("older")
    count = len([c for c in app.screen.controls() if str(c.key or "").startswith("line-")])
    assert count > 60
    await app.go("/plan")
    await app.place("history")
    again = len([c for c in app.screen.controls() if str(c.key or "").startswith("line-")])
    assert again == count


def long_log() -> KeeperLog:
    log = KeeperLog(START).setup(90.0).pump(90.0, 5.3)
    for day in range(80, 0, -1):
        log.test(float(day), 8.3)
    return log


async def test_a_turned_page_of_mix_begins_at_its_top(app: Running):
    await app.go("/mix/recharge_vessel")
    await app.tap("answer-start")
    before = len(scrolls(app))
    await app.tap("answer-done")
    assert scrolls(app)[before:] == [0.0]
    await app.tap("ahead")
    assert len(scrolls(app)) == before + 1, "unfolding stays where it is"
