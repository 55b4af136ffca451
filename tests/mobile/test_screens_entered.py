"""What the keeper enters beside numbers: happenings, bottles, a second source in own units."""

from dataclasses import replace
from datetime import datetime, timedelta, timezone

import pytest

from engine.records import Reading, SecondSource, SecondSourceSetting, Setup, WaterTest
from engine.vocabulary import MEQ_PER_DKH
from tests.support.app import START, Phone, Running, first_records, scenario_records

FRAME = {"id": "x:1", "system": "reef", "at": START, "recorded_at": START}


def with_second(source: SecondSource, **more: object) -> tuple[Setup, object]:
    setup, setting = first_records(START - timedelta(days=9))
    return replace(setup, second_source=source, **more), setting  # pyright: ignore[reportArgumentType]


def alkalinity(dKH: float, **more: str) -> WaterTest:
    reading = Reading(
        parameter="total_alkalinity",
        value=dKH * MEQ_PER_DKH,
        typed=str(dKH),
        typed_unit="dKH",
    )
    return WaterTest(**FRAME, readings=(reading,), **more)  # pyright: ignore[reportArgumentType]


# --- happenings


async def test_happening_takes_three_taps_and_none_is_taken_for_granted(app: Running):
    await app.place("record")
    await app.tap("form-happening", "save")
    assert app.text("finding") == "Choose first: What changed or happened?."
    assert app.stored("event") == []
    await app.tap("what-power_cut")
    assert not app.has("what-skimmer_overflow"), "the list makes way, so that Save is at hand"
    await app.tap("what-another", "what-skimmer_overflow", "what-another", "what-power_cut")
    await app.tap("when_hour", "save")
    (event,) = app.stored("event")
    assert (event["what"], event["detail"]) == ("power_cut", "")
    assert datetime.fromisoformat(event["at"]) == START - timedelta(hours=1)
    assert app.notice == "Saved: Something changed, Power cut."
    await app.go("/history")
    assert app.says("Something changed: Power cut")


# --- bottle and tester


async def test_new_bottle_is_a_tap_and_is_remembered_for_that_test(app: Running):
    await app.go("/record/total_alkalinity")
    assert app.text("bottle") == "Test bottle: not noted. Tested by: not noted."
    await app.type("8.2")
    await app.tap("bottle-new", "bottle-other")
    await app.write("words-tester", "Ana")
    await app.tap("save")
    (test,) = app.stored("water_test")
    assert (test["reagent_lot"], test["tester"]) == ("opened 2026-11-24", "Ana")
    app.clock.move(days=3)
    await app.go("/record/total_alkalinity")
    assert app.text("bottle") == "Test bottle: opened 2026-11-24. Tested by: Ana."
    await app.go("/record/calcium")
    assert app.text("bottle") == "Test bottle: not noted. Tested by: Ana."
    await app.go("/record/pH_nbs")
    assert not app.has("bottle"), "a probe has no bottle"


async def test_second_bottle_of_a_day_is_another_one(phone: Phone):
    test = alkalinity(8.2, reagent_lot="opened 2026-11-24")
    app = await phone.open(records=(*first_records(START - timedelta(days=9)), test))
    await app.go("/record/total_alkalinity")
    await app.type("8.3")
    await app.tap("bottle-new", "save")
    assert app.stored("water_test")[-1]["reagent_lot"] == "opened 2026-11-24 09:00"


async def test_bottle_of_broken_signs_is_refused_and_kept_on_screen(app: Running):
    await app.go("/record/calcium")
    await app.type("420")
    await app.tap("bottle-other")
    await app.write("words-lot", "x" * 61)
    await app.tap("save")
    assert app.text("finding").startswith("The text is too long by 1; 60 characters fit.")
    assert app.text("figure-calcium") == "420"
    assert app.stored("water_test") == []


async def test_bottle_of_a_test_is_amended(phone: Phone):
    test = alkalinity(8.2, reagent_lot="L-7")
    app = await phone.open(records=(*first_records(START - timedelta(days=9)), test))
    (stored,) = app.stored("water_test")
    await app.go(f"/history/{stored['id']}")
    await app.tap("amend", "bottle-other")
    await app.write("words-lot", "L-8")
    await app.tap("save")
    (amendment,) = app.stored("amendment")
    new = amendment["replacement"]
    assert (new["reagent_lot"], new["readings"]) == ("L-8", stored["readings"])


# --- second source


async def test_two_part_without_a_strength_is_refused_in_words(phone: Phone):
    app = await phone.open(records=with_second(SecondSource.TWO_PART))
    await app.record("second_two_part", "60")
    assert app.text("finding").startswith("The strength of the alkalinity part is not known.")
    assert app.text("figure-two_part_mL_per_day") == "60"
    assert app.stored("second_source_setting") == []


async def test_reactor_counts_the_tanks_own_alkalinity_off(phone: Phone):
    has = with_second(SecondSource.REACTOR, reactor_effluent_meq_per_L=35 * MEQ_PER_DKH)
    app = await phone.open(records=(*has, alkalinity(8.0)))
    await app.go("/record/second_reactor")
    await app.type("1")
    await app.tap("unit-flow_L_per_day-L/h", "save")
    (setting,) = app.stored("second_source_setting")
    assert setting["alkalinity_meq_per_day"] == pytest.approx(24 * 27 * MEQ_PER_DKH)
    assert setting["tank_total_alkalinity_meq_per_L"] == pytest.approx(8 * MEQ_PER_DKH)
    await app.go("/history")
    assert app.says("16.7 mL a minute through the reactor at 35 dKH: 231 meq a day")


async def test_reactor_of_no_more_than_the_tank_is_refused_in_words(phone: Phone):
    app = await phone.open(records=with_second(SecondSource.REACTOR))
    await app.go("/record/second_reactor")
    await app.type("40")
    await app.tap("save")
    assert app.text("finding").startswith("The alkalinity of the reactor's outflow is not known.")
    await app.type("8", "effluent_meq_per_L")
    await app.tap("save")
    assert app.text("finding").startswith("The reactor's outflow has no more alkalinity")
    assert app.stored("second_source_setting") == []


async def test_corrected_strength_reckons_the_running_setting_anew(phone: Phone):
    has = with_second(SecondSource.TWO_PART, two_part_meq_per_mL=2.0)
    running = SecondSourceSetting(
        **FRAME,  # pyright: ignore[reportArgumentType]
        alkalinity_meq_per_day=120.0,
        two_part_mL_per_day=60.0,
        two_part_meq_per_mL=2.0,
    )
    app = await phone.open(records=(*has, running))
    await app.go("/setup/second_source")
    await app.type("1", "two_part_meq_per_mL")
    await app.tap("go-on")
    first, second = app.stored("second_source_setting")
    assert first["alkalinity_meq_per_day"] == 120.0, "history is not rewritten"
    assert second["alkalinity_meq_per_day"] == 60.0
    assert second["two_part_mL_per_day"] == 60.0
    await app.go("/setup/other_water")
    await app.tap("go-on")
    assert len(app.stored("second_source_setting")) == 2, "another page changes nothing of it"


async def test_setting_typed_in_meq_is_still_amended_in_meq(phone: Phone):
    has = with_second(SecondSource.TWO_PART, two_part_meq_per_mL=2.0)
    old = SecondSourceSetting(**FRAME, alkalinity_meq_per_day=120.0)  # pyright: ignore[reportArgumentType]
    app = await phone.open(records=(*has, old))
    (stored,) = app.stored("second_source_setting")
    await app.go(f"/history/{stored['id']}")
    await app.tap("amend")
    assert app.text("figure-alkalinity_meq_per_day") == "120"


@pytest.mark.parametrize("name", ["long_room", "kettle_july", "demo_system"])
async def test_what_is_told_and_the_one_tap_speak_the_keepers_units(phone: Phone, name: str):
    app = await phone.open(records=scenario_records(name, START))
    decision = app.store.snapshot.decision
    assert decision is not None
    if decision.change.second_source is None:
        assert not app.says("Set the second source to")
        return
    setup = app.store.snapshot.setup
    assert setup is not None
    assert not any("meq a day" in text for text in [app.text("decision"), app.text("as-told")])
    await app.tap("as-told")
    setting = app.stored("second_source_setting")[-1]
    told = float(decision.change.second_source.magnitude)
    assert setting["alkalinity_meq_per_day"] == pytest.approx(told)
    own = "two_part_mL_per_day" if setup.second_source == "two_part" else "flow_L_per_day"
    assert setting[own] > 0.0


# --- contradictions in Setup


@pytest.mark.parametrize(
    ("page", "typed", "taps", "said"),
    [
        (
            "lamps",
            {"lights_on_hours": "9"},
            (),
            "Give both hours of the lamps, or leave both unset.",
        ),
        (
            "lamps",
            {"lights_on_hours": "0", "lights_off_hours": "2400"},
            (),
            "Lamps on and off at the same hour: change one, or leave both unset.",
        ),
        ("lamps", {}, ("doses_at_night-yes",), "Doses in the dark need both hours of the lamps."),
        (
            "lamps",
            {"lights_on_hours": "961"},
            (),
            "Lamps on at: Type it as on a clock: 9:30, or 930 without the colon.",
        ),
        (
            "season",
            {},
            ("evaporation_high_month-month_7", "evaporation_low_month-month_7"),
            "The same month cannot evaporate most and least.",
        ),
        (
            "second_source",
            {"reactor_effluent_meq_per_L": "7"},
            ("second_source-reactor",),
            "“Target” must not be above “Alkalinity of the reactor's outflow”.",
        ),
        (
            "pH_limits",
            {"ceiling_pH": "9"},
            (),
            (
                "Highest pH to plan for: 9 cannot be entered here: possible is 8.00 to 8.50. "
                "Look at the unit and the digits."
            ),
        ),
        (
            "kits",
            {"alkalinity_test_error_meq_per_L": "5"},
            (),
            (
                "Alkalinity test, give or take: 5 dKH cannot be entered here: "
                "possible is 0 dKH to 1.4 dKH. Look at the unit and the digits."
            ),
        ),
    ],
)
async def test_contradiction_is_said_and_nothing_is_saved(
    app: Running, page: str, typed: dict[str, str], taps: tuple[str, ...], said: str
):
    await app.go(f"/setup/{page}")
    await app.tap(*taps)
    for key, digits in typed.items():
        await app.type(digits, key)
    await app.tap("go-on")
    assert app.path == f"/setup/{page}"
    assert app.all_texts("fault") == [said]
    assert all(app.text(f"figure-{key}") == digits for key, digits in typed.items())
    assert len(app.stored("setup")) == 1


# --- clocks that are changed


async def test_time_of_a_record_is_shown_as_the_clock_showed_it_then(phone: Phone):
    summer, winter = timezone(timedelta(hours=2)), timezone(timedelta(hours=1))
    then = datetime(2026, 10, 24, 20, 0, tzinfo=summer)  # the clocks go back in the night
    phone.clock.now = datetime(2026, 10, 26, 9, 0, tzinfo=winter)
    test = replace(alkalinity(8.2), at=then, recorded_at=then)
    app = await phone.open(records=(*first_records(then - timedelta(days=9)), test))
    (stored,) = app.stored("water_test")
    await app.go(f"/history/{stored['id']}")
    assert app.says("Taken Sat 24 Oct, 20:00")
    await app.tap("amend")
    assert app.screen.find("when-words").value == "2026-10-24 20:00"
    await app.write("when-words", "2026-10-24 19:30")
    await app.tap("save")
    (amendment,) = app.stored("amendment")
    at = datetime.fromisoformat(amendment["replacement"]["at"])
    assert at == then - timedelta(minutes=30)
    assert app.says("Sat 24 Oct, 19:30")


async def test_back_dated_record_carries_the_offset_of_its_own_day(phone: Phone):
    summer, winter = timezone(timedelta(hours=2)), timezone(timedelta(hours=1))
    change = datetime(2026, 10, 25, 1, 0, tzinfo=winter)
    phone.clock.now = datetime(2026, 10, 25, 20, 0, tzinfo=winter)
    app = await phone.open(records=first_records(phone.clock.now - timedelta(days=9)))
    app.store._local = lambda moment: moment.astimezone(summer if moment < change else winter)
    await app.record("calcium", "420", "when_day")
    (test,) = app.stored("water_test")
    assert test["at"].startswith("2026-10-24T21:00:00")
    assert test["at"].endswith("+02:00")
