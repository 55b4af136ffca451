"""Today, Plan, Setup, Help, the bottom bar, the demo: what is shown, where a tap leads."""

from datetime import timedelta

import pytest

from engine.vocabulary import MEQ_PER_DKH
from mobile.state.setup_pages import PAGES
from tests.support.app import PLACE_NAMES, SCENARIOS, START, Phone, Running, scenario_records

# --- the frame


async def test_bottom_bar_leads_to_every_place(app: Running):
    for name in (*PLACE_NAMES, "today"):
        await app.place(name)
        assert app.path == ("/" if name == "today" else f"/{name}")
        assert app.place_shown == name
        assert not app.failed


async def test_corner_leads_to_setup_and_help(app: Running):
    await app.tap("go-setup")
    assert app.path == "/setup"
    await app.tap("go-help")
    assert app.path == "/help"
    assert app.says("The powder (calcium hydroxide) and limewater are caustic.")
    assert app.says("Regulation (EC) No 1272/2008"), "what the hazard statements rest on"
    await app.tap("open-emergency")
    assert app.host.emergency_opened == 1


@pytest.mark.parametrize(
    "path",
    [
        "/nowhere",
        "/record/nothing",
        "/mix/nothing",
        "/history/nothing",
        "/setup/nothing",
        "/setup/start",
        "/new/safety",
        "/a/b/c",
    ],
)
async def test_unknown_path_says_so_and_the_bar_leads_back(app: Running, path: str):
    await app.go(path)
    assert app.says("There is no such page. Use the buttons below.")
    await app.place("today")
    assert app.has("decision")


async def test_unknown_path_before_the_first_run_shows_the_welcome(phone: Phone):
    app = await phone.open()
    for path in ("/nowhere", "/record", "/record/calcium", "/mix", "/plan", "/history"):
        await app.go(path)
        assert app.has("start-setup"), path
        assert not app.failed


async def test_notice_goes_with_the_next_place(app: Running):
    await app.record("calcium", "420")
    assert app.notice == "Saved: Calcium 420 mg/L."
    await app.place("plan")
    assert app.notice == ""


async def test_notice_of_an_error_is_put_away_by_a_tap(app: Running):
    app.store.say("danger", "NOT saved: something.")
    await app.screen.settle()
    await app.tap("dismiss")
    assert app.notice == ""


async def test_update_is_offered_and_a_notice_comes_first(app: Running):
    app.store.version.found()
    await app.screen.settle()
    assert app.notice == "A new version is ready. Your records stay."
    await app.record("calcium", "420")
    assert app.notice.startswith("Saved")
    await app.place("plan")
    await app.tap("update-now")
    assert app.notice.startswith("The new version waits while an entry is open or being saved.")
    await app.tap("dismiss")
    assert app.has("update-now"), "it is offered again"


async def test_app_that_comes_back_decides_again_at_the_present_time(app: Running):
    await app.record("total_alkalinity", "8.2")
    app.store.dismiss()
    app.clock.move(hours=5)
    app.store.refresh_if_ready()
    await app.screen.settle()
    assert app.says("tested 5 h ago")


# --- Today and Plan


async def test_today_asks_for_the_first_test(app: Running):
    assert app.text("decision") == "Leave the pump as it is. Raise nothing untested."
    assert app.says("alkalinity was never tested")
    await app.tap("record-test")
    assert app.path == "/record/total_alkalinity"


async def test_today_tells_decision_water_and_what_is_next(phone: Phone):
    app = await phone.open(records=scenario_records("demo_system", START))
    assert app.text("decision")
    assert app.says("Alkalinity 8")
    assert app.says("Where the water stands")
    assert app.says("Powder for")
    assert app.says("Refill the fresh-water container: ")
    await app.tap("to-plan")
    assert app.path == "/plan"


async def test_plan_shows_dose_and_unfolds_its_reasons(phone: Phone):
    app = await phone.open(records=scenario_records("kettle_winter", START))
    await app.place("plan")
    assert app.text("plan-dose").endswith(" L a day")
    assert app.says("What holds the dose down")
    assert app.says("holds the dose")
    before = len(app.screen.texts())
    await app.tap("why")
    assert app.text("why") == "Hide the reasons"
    assert len(app.screen.texts()) > before + 3
    await app.tap("why")
    assert len(app.screen.texts()) == before


@pytest.mark.parametrize("name", SCENARIOS)
async def test_today_and_plan_never_contradict_each_other(phone: Phone, name: str):
    app = await phone.open(records=scenario_records(name, START))
    decision = app.text("decision")
    await app.place("plan")
    assert app.text("plan-lead") == decision


# --- Setup

# page: (typed, tapped, what the new set-up holds)
EDITS = {
    "system": ({"net_volume_L": "500"}, (), {"net_volume_L": 500.0}),
    "delivery": (
        {"pump_L_per_h": "2.4"},
        ("shared_container-yes",),
        {"pump_L_per_h": 2.4, "shared_container": True, "delivery": "pump_vessel"},
    ),
    "evaporation": (
        {"evaporation_high_L_per_day": "8.1"},
        (),
        {"evaporation_high_L_per_day": 8.1, "evaporation_low_L_per_day": 6.3},
    ),
    "targets": (
        {"target_total_alkalinity_meq_per_L": "8.4"},
        (),
        {"target_total_alkalinity_meq_per_L": 8.4 * MEQ_PER_DKH},
    ),
    "second_source": (
        {"reactor_effluent_meq_per_L": "30"},
        ("second_source-reactor",),
        {"second_source": "reactor", "reactor_effluent_meq_per_L": 30 * MEQ_PER_DKH},
    ),
    "limits": ({"evaporation_share": "80"}, (), {"evaporation_share": 0.8}),
    "demand": (
        {"entered_demand_meq_per_L_per_day": "0.7"},
        (),
        {"entered_demand_meq_per_L_per_day": 0.7 * MEQ_PER_DKH},
    ),
    "powder": (
        {"powder_days": "10", "powder_lead_days": "5", "scoop_g": "2.4"},
        (),
        {"powder_days": 10.0, "powder_lead_days": 5.0, "scoop_g": 2.4},
    ),
    "safety": (
        {"salt_water_ready_L": "100"},
        (),
        {"salt_water_ready_L": 100.0, "phone_vet": "0123 45-6"},
    ),
    "guards": (
        {"pump_cut_off_hours": "0.75", "unattended_hours": "12"},
        ("siphon_break-yes", "hazard_band-stop_lime"),
        {
            "pump_cut_off_hours": 0.75,
            "unattended_hours": 12.0,
            "siphon_break": True,
            "hazard_band": "stop_lime",
        },
    ),
    "equipment": (
        {"doses_per_day": "48", "powder_assay": "95"},
        (),
        {"doses_per_day": 48, "powder_assay": 0.95},
    ),
    "lamps": (
        {"lights_on_hours": "9.30", "lights_off_hours": "2100"},
        ("doses_at_night-yes",),
        {"lights_on_hours": 9.5, "lights_off_hours": 21.0, "doses_at_night": True},
    ),
    "pH_limits": (
        {"ceiling_pH": "8.4", "dose_rise_pH": "0.04", "gas_exchange_per_day": "18"},
        (),
        {"ceiling_pH": 8.4, "dose_rise_pH": 0.04, "gas_exchange_per_day": 18.0},
    ),
    "other_water": (
        {
            "top_off_alkalinity_meq_per_L": "11.2",
            "skimmate_L_per_day": "0.4",
            "sump_room_L": "25",
        },
        (),
        {
            "top_off_alkalinity_meq_per_L": 11.2 * MEQ_PER_DKH,
            "skimmate_L_per_day": 0.4,
            "sump_room_L": 25.0,
        },
    ),
    "kits": (
        {"alkalinity_test_error_meq_per_L": "0.2", "calcium_test_error_mg_per_L": "10"},
        (),
        {
            "alkalinity_test_error_meq_per_L": 0.2 * MEQ_PER_DKH,
            "calcium_test_error_mg_per_L": 10.0,
        },
    ),
    "season": (
        {},
        ("evaporation_high_month-month_1", "evaporation_low_month-month_8"),
        {"evaporation_high_month": 1, "evaporation_low_month": 8},
    ),
}


@pytest.mark.parametrize("page", [page.key for page in PAGES if page.in_setup])
async def test_page_of_setup_is_edited_by_a_new_set_up(phone: Phone, app: Running, page: str):
    typed, taps, expected = EDITS[page]
    (before,) = app.stored("setup")
    app.clock.move(hours=1)
    await app.tap("go-setup", f"page-{page}")
    assert app.path == f"/setup/{page}"
    await app.tap(*taps)
    for key, digits in typed.items():
        await app.type(digits, key)
    if page == "safety":
        await app.write("words-phone_vet", " 0123 45-6 ")
    await app.tap("go-on")
    assert app.path == "/setup", app.all_texts("fault")
    assert app.notice == "Saved: Setup."
    app = await phone.reopen(app)
    first, second = app.stored("setup")
    assert first == before
    for key, value in expected.items():
        assert second[key] == (pytest.approx(value) if isinstance(value, float) else value), key
    others = set(second) - set(expected) - {"id", "at", "recorded_at"}
    assert {key: second[key] for key in others} == {key: before[key] for key in others}


async def test_setup_page_left_by_back_changes_nothing(app: Running):
    await app.go("/setup/system")
    await app.type("900", "net_volume_L")
    await app.tap("go-back")
    assert app.path == "/setup"
    assert len(app.stored("setup")) == 1
    assert app.text("page-system") == "Your system / Name: My reef\nNet water volume: 450 L"


async def test_optional_number_is_unset_again(app: Running):
    await app.go("/setup/delivery")
    assert not app.has("clear-pump_L_per_h")
    await app.type("2.4", "pump_L_per_h")
    await app.tap("go-on", "page-delivery", "clear-pump_L_per_h")
    assert app.text("figure-pump_L_per_h") == "–"
    assert not app.has("clear-vessel_L"), "what is needed cannot be unset"
    await app.tap("go-on")
    assert [s["pump_L_per_h"] for s in app.stored("setup")] == [None, 2.4, None]


async def test_entered_demand_is_unset_again(app: Running):
    await app.go("/setup/demand")
    await app.type("0.7", "entered_demand_meq_per_L_per_day")
    await app.tap("go-on", "page-demand", "clear-entered_demand_meq_per_L_per_day", "go-on")
    demands = [s["entered_demand_meq_per_L_per_day"] for s in app.stored("setup")]
    assert demands == [None, pytest.approx(0.7 * MEQ_PER_DKH), None]


@pytest.mark.parametrize(
    "words", ["112 or 999", "0123 456 ext. 4", "Dr Lind", "1", "+49 30 a", "٣٤٥"]
)
async def test_phone_that_cannot_be_dialled_is_refused_in_words(app: Running, words: str):
    await app.go("/setup/safety")
    await app.write("words-phone_vet", words)
    await app.tap("go-on")
    assert app.path == "/setup/safety"
    assert app.all_texts("fault") == [
        "Vet: one number as it is dialled: digits, spaces, and a plus in front. No words."
    ]
    assert app.screen.find("words-phone_vet").value == words
    await app.write("words-phone_vet", "+49 (30) 123-456")
    await app.tap("go-on")
    assert app.stored("setup")[-1]["phone_vet"] == "+49 (30) 123-456"


async def test_refused_number_is_quoted_as_it_was_typed(app: Running):
    await app.go("/setup/system")
    await app.type("999999999", "net_volume_L")
    await app.tap("go-on")
    (fault,) = app.all_texts("fault")
    assert fault.startswith("Net water volume: 999999999 L cannot be entered here")
    await app.record("refill", "999999999")
    assert app.text("finding").startswith("999999999 L cannot be entered here")


async def test_contradiction_in_setup_is_refused_and_kept_on_screen(app: Running):
    await app.go("/setup/evaporation")
    await app.type("9", "evaporation_low_L_per_day")
    await app.tap("go-on")
    assert app.path == "/setup/evaporation"
    assert app.all_texts("fault") == ["“Least in a day” must not be above “Most in a day”."]
    assert app.text("figure-evaporation_low_L_per_day") == "9"
    assert len(app.stored("setup")) == 1


async def test_alkalinity_unit_is_changed_everywhere(phone: Phone):
    app = await phone.open(records=scenario_records("demo_system", START))
    places = ("/", "/plan", "/history", "/record", "/setup", "/setup/targets", "/setup/limits")
    seen = {}
    for unit, key in (("dKH", 0), ("meq/L", 1), ("mg/L CaCO₃", 2)):
        await app.go("/setup")
        await app.tap(f"unit-{key}")
        for path in places:
            await app.go(path)
            if path == "/plan":
                await app.tap("why")
            # the buttons that choose a unit, and a sentence about a test kit's error, stay
            texts = [t for t in app.screen.texts() if t.removeprefix("✓ ") not in UNITS]
            shown = [u for u in ("dKH", "meq/L", "CaCO₃") if any(f" {u}" in t for t in texts)]
            seen[unit, path] = shown
    for unit, name in (("dKH", "dKH"), ("meq/L", "meq/L"), ("mg/L CaCO₃", "CaCO₃")):
        for path in places:
            assert name in seen[unit, path], (unit, path)
            assert set(seen[unit, path]) <= {name}, (unit, path, seen[unit, path])
    app = await phone.reopen(app)
    await app.go("/setup")
    assert app.text("unit-2").startswith("✓"), "the choice outlives the app"


UNITS = ("dKH", "meq/L", "mg/L CaCO3", "mg/L CaCO₃")


# --- the demo


async def test_demo_is_marked_and_left_with_one_tap(phone: Phone):
    app = await phone.open()
    await app.tap("enter-demo")
    assert app.path == "/"
    for path in ("/", "/record", "/plan", "/history", "/setup", "/mix", "/help"):
        await app.go(path)
        assert app.text("banner-demo").startswith("Demo")
        assert "Nothing here is kept." in app.text("banner-demo")
        assert not app.failed
    assert not app.has("export")
    await app.tap("leave-demo")
    assert app.path == "/"
    assert app.has("start-setup")
    assert app.stored() == []


async def test_entries_in_the_demo_are_not_kept_and_the_own_ones_stay(phone: Phone, app: Running):
    await app.record("calcium", "415")
    before = app.stored()
    journal = phone.journal.read_bytes()
    await app.store.enter_demo()
    await app.screen.settle()
    assert not app.has("notice")
    assert app.says("(demo)")
    figures = app.host.figures
    await app.record("calcium", "433")
    assert app.notice == "Saved: Calcium 433 mg/L."
    await app.go("/history")
    assert app.says("Calcium: 433 mg/L")
    await app.go("/setup")
    await app.tap("unit-1")
    await app.tap("leave-demo")
    assert app.says("My reef")
    assert not app.says("(demo)")
    assert app.stored() == before
    assert phone.journal.read_bytes() == journal
    assert app.host.figures == figures, "the emergency card keeps the keeper's own figures"
    assert app.store.snapshot.alkalinity_unit == "dKH"
    await app.go("/history")
    assert app.says("Calcium: 415 mg/L")
    assert not app.says("433")


async def test_demo_entered_again_is_as_fresh_as_the_first_time(phone: Phone):
    app = await phone.open()
    await app.tap("enter-demo")
    await app.go("/history")
    first = [t for t in app.screen.texts() if "24 Nov" in t]
    await app.tap("leave-demo")
    app.clock.move(days=30)
    await app.tap("enter-demo")
    await app.go("/history")
    again = [t for t in app.screen.texts() if "24 Dec" in t]
    assert first
    assert len(again) == len(first)
    newest = max(record.at for record in app.store.snapshot.records)
    assert app.clock.now - newest < timedelta(days=2)
