"""The first run, page by page, as a keeper walks it."""

import pytest

from engine.log.record_codec import to_dict
from engine.vocabulary import MEQ_PER_DKH
from tests.support.app import FIRST_ANSWERS, Phone, Running, first_records, first_run, set_up

PAGES = tuple(FIRST_ANSWERS)


async def begun(phone: Phone, until: str) -> Running:
    app = await phone.open()
    await app.tap("start-setup")
    await first_run(app, until=until)
    assert app.path == f"/new/{until}"
    return app


async def test_first_visit_shows_what_it_is_and_both_ways_on(phone: Phone):
    app = await phone.open()
    assert app.says("how much limewater your reef aquarium needs a day")
    assert app.text("start-setup") == "Set up my system"
    assert app.has("enter-demo")
    assert not app.has("bottom-bar")


async def test_first_run_ends_in_a_saved_system(phone: Phone):
    app = await phone.open()
    await app.tap("start-setup")
    await first_run(app)
    assert app.path == "/"
    assert app.notice == "Saved: Setup."
    assert not app.has("undo"), "it would take the whole system away"
    setup, setting = app.stored()
    told = [to_dict(record) for record in first_records(system=setup["system"])]
    for record, expected in zip((setup, setting), told, strict=True):
        assert {**record, "id": ""} == {**expected, "id": ""}, "what other tests start from"
    assert setup["kind"] == "setup"
    assert setup["name"] == "My reef"
    assert setup["net_volume_L"] == 450.0
    assert setup["delivery"] == "pump_vessel"
    assert setup["vessel_L"] == 5.0
    assert setup["evaporation_low_L_per_day"] == 6.3
    assert setup["evaporation_high_L_per_day"] == 7.5
    assert setup["target_total_alkalinity_meq_per_L"] == 8.2 * MEQ_PER_DKH
    assert setup["keeper_cap_L_per_day"] == 6.0
    assert setup["evaporation_share"] == 0.9
    assert setup["entered_demand_meq_per_L_per_day"] is None
    assert (setting["kind"], setting["limewater_L_per_day"]) == ("delivery_setting", 5.0)
    assert setting["system"] == setup["system"]
    assert app.store.choices.setup_draft() == {}
    assert app.has("bottom-bar")
    assert app.text("decision") == "Leave the pump as it is. Raise nothing untested."
    assert app.has("record-test")


async def test_every_missing_answer_is_named(phone: Phone):
    app = await phone.open()
    await app.tap("start-setup", "go-on")
    assert app.path == "/new/system"
    assert app.all_texts("fault") == ["Still needed: Net water volume."]
    await first_run(app, until="delivery")
    await app.tap("go-on")
    assert app.all_texts("fault") == ["Still needed: Volume of the stirred vessel."]
    await app.type("5", "vessel_L")
    assert app.all_texts("fault") == []
    await app.tap("go-on", "go-on")
    assert app.all_texts("fault") == [
        "Still needed: Least in a day.",
        "Still needed: Most in a day.",
    ]
    assert app.stored() == []


async def test_a_name_left_empty_is_offered_and_can_be_changed_later(phone: Phone):
    app = await phone.open()
    await app.tap("start-setup")
    await app.type("450", "net_volume_L")
    await app.tap("go-on")
    assert app.path == "/new/delivery"
    assert app.store.choices.setup_draft()["answers"]["name"] == "My tank"
    await app.go("/new/system")
    await app.write("words-name", "Sump Road")
    await app.tap("go-on")
    assert app.store.choices.setup_draft()["answers"]["name"] == "Sump Road"


async def test_volumes_are_offered_in_litres_and_gallons_only(phone: Phone):
    app = await phone.open()
    await app.tap("start-setup")
    assert app.has("unit-net_volume_L-US gal")
    assert not app.has("unit-net_volume_L-mL")


async def test_limits_page_offers_the_least_evaporation_as_the_own_ceiling(phone: Phone):
    app = await begun(phone, "evaporation")
    await app.type("6.3", "evaporation_low_L_per_day")
    await app.type("7.5", "evaporation_high_L_per_day")
    await app.tap(*["go-on"] * 3)
    assert app.path == "/new/limits"
    assert app.text("figure-keeper_cap_L_per_day") == "6.3 L a day"
    await app.tap("go-on")
    assert app.path == "/new/start"


async def test_contradictory_evaporation_is_refused_and_nothing_is_lost(phone: Phone):
    app = await begun(phone, "evaporation")
    await app.type("9", "evaporation_low_L_per_day")
    await app.type("7.5", "evaporation_high_L_per_day")
    await app.tap("go-on")
    assert app.path == "/new/evaporation"
    assert app.all_texts("fault") == ["“Least in a day” must not be above “Most in a day”."]
    assert app.text("figure-evaporation_low_L_per_day") == "9"
    assert app.text("figure-evaporation_high_L_per_day") == "7.5"
    await app.tap("field-evaporation_low_L_per_day", "key-erase")
    await app.type("6")
    await app.tap("go-on")
    assert app.path == "/new/targets"


async def test_contradictory_band_is_refused_and_nothing_is_lost(phone: Phone):
    app = await begun(phone, "targets")
    await app.type("9.5", "band_low_total_alkalinity_meq_per_L")
    await app.tap("go-on")
    assert app.path == "/new/targets"
    assert app.all_texts("fault") == [
        "“Good from” must not be above “Good up to”.",
        "“Good from” must not be above “Target”.",
    ]
    assert app.text("figure-band_low_total_alkalinity_meq_per_L") == "9.5"
    assert app.text("figure-band_high_total_alkalinity_meq_per_L") == "9 dKH"


async def test_volume_of_zero_is_refused(phone: Phone):
    app = await phone.open()
    await app.tap("start-setup")
    await app.write("words-name", "My reef")
    await app.type("0", "net_volume_L")
    await app.tap("go-on")
    assert app.path == "/new/system"
    (fault,) = app.all_texts("fault")
    assert fault.startswith("Net water volume: 0 L cannot be entered here: possible is 1 L to ")
    assert app.text("figure-net_volume_L") == "0"


async def test_volume_in_gallons_is_kept_in_litres(phone: Phone):
    app = await phone.open()
    await app.tap("start-setup")
    await app.write("words-name", "My reef")
    await app.type("100", "net_volume_L")
    await app.tap("unit-net_volume_L-US gal", "go-on")
    assert app.path == "/new/delivery"
    kept = app.store.choices.setup_draft()["answers"]["net_volume_L"]
    assert abs(kept - 378.5411784) < 1e-6


async def test_back_keeps_what_was_answered(phone: Phone):
    app = await begun(phone, "targets")
    await app.tap("go-back")
    assert app.path == "/new/evaporation"
    assert app.text("figure-evaporation_low_L_per_day") == "6.3 L a day"
    await app.tap("go-back", "go-back")
    assert app.path == "/new/system"
    assert app.screen.find("words-name").value == "My reef"
    assert app.text("figure-net_volume_L") == "450 L"
    await app.tap("go-on", "go-on", "go-on")
    assert app.path == "/new/targets"


async def test_back_keeps_what_was_typed_on_the_page_itself(phone: Phone):
    app = await begun(phone, "evaporation")
    await app.type("6.3", "evaporation_low_L_per_day")
    await app.tap("go-back", "go-on")
    assert app.path == "/new/evaporation"
    assert app.text("figure-evaporation_low_L_per_day") == "6.3 L a day"


async def test_back_from_the_first_page_leads_to_the_welcome(phone: Phone):
    app = await phone.open()
    await app.tap("start-setup", "go-back")
    assert app.path == "/"
    assert app.has("start-setup")


async def test_killed_in_the_middle_it_goes_on_at_the_same_page(phone: Phone):
    app = await begun(phone, "targets")
    app = await phone.reopen(app)
    assert app.text("start-setup") == "Go on with the set-up"
    await app.tap("start-setup")
    assert app.path == "/new/targets"
    await app.tap("go-back")
    assert app.text("figure-evaporation_high_L_per_day") == "7.5 L a day"
    await app.tap("go-on", "go-on", "go-on")
    await app.type("6", "keeper_cap_L_per_day")
    await app.tap("go-on", "go-on")
    (setup,) = app.stored("setup")
    assert (setup["name"], setup["vessel_L"]) == ("My reef", 5.0)
    assert app.stored("delivery_setting") == []


async def test_steady_dose_becomes_the_entered_demand(phone: Phone):
    app = await begun(phone, "start")
    await app.type("5", "limewater_L_per_day")
    await app.tap("holds_steady-yes")
    assert not app.has("field-entered_demand_meq_per_L_per_day")
    await app.tap("go-on")
    assert app.path == "/"
    setup, _setting = app.stored()
    demand = setup["entered_demand_meq_per_L_per_day"]
    assert 5 * 40.0 / 450 < demand < 5 * 42.0 / 450


async def test_steady_dose_that_no_tank_can_use_is_refused_in_words(phone: Phone):
    app = await begun(phone, "start")
    await app.type("500", "limewater_L_per_day")
    await app.tap("holds_steady-yes", "go-on")
    assert app.path == "/new/start"
    (fault,) = app.all_texts("fault")
    assert fault.startswith("What is set now would be 130 dKH a day in this volume: more than")
    assert app.text("figure-limewater_L_per_day") == "500"
    assert app.stored() == []


async def test_container_and_second_source_ask_their_own_questions(phone: Phone):
    app = await begun(phone, "delivery")
    await app.tap("delivery-top_off_container")
    assert not app.has("field-vessel_L")
    assert not app.has("field-pump_L_per_h")
    await app.type("20", "lime_container_L")
    await app.tap("go-on")
    await app.type("6", "evaporation_low_L_per_day")
    await app.type("7", "evaporation_high_L_per_day")
    await app.tap("go-on", "go-on", "second_source-two_part")
    await app.tap("go-on")
    assert app.all_texts("fault") == ["Still needed: Strength of the alkalinity part."]
    await app.type("2", "two_part_meq_per_mL")
    await app.tap("go-on")
    await app.type("6", "keeper_cap_L_per_day")
    await app.tap("go-on")
    await app.type("60", "two_part_mL_per_day")
    await app.tap("go-on")
    setup, second = app.stored()
    assert (setup["delivery"], setup["lime_container_L"]) == ("top_off_container", 20.0)
    assert (setup["second_source"], setup["two_part_meq_per_mL"]) == ("two_part", 2.0)
    assert (second["kind"], second["alkalinity_meq_per_day"]) == ("second_source_setting", 120.0)
    assert (second["two_part_mL_per_day"], second["two_part_meq_per_mL"]) == (60.0, 2.0)


async def test_second_system_stands_beside_the_first(phone: Phone):
    app = await phone.open()
    await set_up(app)
    await app.tap("go-setup", "another-system")
    await first_run(app, "Nursery")
    assert app.path == "/"
    assert app.says("Nursery")
    await app.tap("go-setup")
    (first, second) = (setup["system"] for setup in app.stored("setup"))
    assert "✓ Nursery" in app.text(f"system-{second}")
    await app.tap(f"system-{first}")
    assert "✓ My reef" in app.text(f"system-{first}")
    await app.record("total_alkalinity", "8.2")
    (test,) = app.stored("water_test")
    assert test["system"] == first
    app = await phone.reopen(app)
    assert app.store.snapshot.setup is not None
    assert app.store.snapshot.setup.name == "My reef"
    assert len(app.store.snapshot.systems) == 2


@pytest.mark.parametrize(
    ("typed", "shown"), [("0.2", "0.2 dKH a day"), ("4.5", "4.5 dKH a day")], ids=["low", "high"]
)
async def test_an_unusual_demand_is_asked_back_once_and_kept_if_it_is_right(
    phone: Phone, typed: str, shown: str
):
    app = await begun(phone, "start")
    await app.tap("holds_steady-no")
    await app.type(typed, "entered_demand_meq_per_L_per_day")
    await app.tap("go-on")
    assert app.path == "/new/start"
    (asked,) = app.all_texts("fault")
    assert asked.startswith(f"{shown} is outside what tanks usually use: 0.5 dKH a day to 4 dKH")
    assert app.stored() == []
    await app.tap("go-on")
    assert app.path == "/"
    (setup,) = app.stored("setup")
    assert setup["entered_demand_meq_per_L_per_day"] == pytest.approx(float(typed) * MEQ_PER_DKH)


async def test_another_unusual_demand_is_asked_back_anew(phone: Phone):
    app = await begun(phone, "start")
    await app.tap("holds_steady-no")
    await app.type("0.2", "entered_demand_meq_per_L_per_day")
    await app.tap("go-on")
    await app.type("5", "entered_demand_meq_per_L_per_day")  # 0.25
    await app.tap("go-on")
    assert app.path == "/new/start"
    assert app.all_texts("fault")


@pytest.mark.parametrize("typed", ["0.5", "1.4", "4"])
async def test_a_usual_demand_is_not_asked_about(phone: Phone, typed: str):
    app = await begun(phone, "start")
    await app.tap("holds_steady-no")
    await app.type(typed, "entered_demand_meq_per_L_per_day")
    await app.tap("go-on")
    assert app.path == "/"


async def test_a_steady_dose_that_is_an_unusual_demand_is_asked_back(phone: Phone):
    app = await begun(phone, "start")
    await app.type("1", "limewater_L_per_day")
    await app.tap("holds_steady-yes", "go-on")
    (asked,) = app.all_texts("fault")
    assert "outside what tanks usually use" in asked
    await app.tap("go-on")
    assert app.path == "/"
