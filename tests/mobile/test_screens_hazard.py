"""What could go wrong, as the keeper meets it: Today's line, the page, the what-if, the card."""

import json
import time
from dataclasses import replace

import pytest

from engine.demand.facts import gather
from engine.hazards.equipment import Guards
from engine.hazards.hazard import assess
from engine.records import Note, Setup
from mobile.state.dangers import DangerBook, key_of
from mobile.state.hazard_what_if import what_if
from mobile.texts.hazard_page import TEXTS
from tests.support.app import SCENARIOS, START, Phone, Running, scenario_records

DEMO = scenario_records("demo_system", START)


@pytest.fixture
async def demo(phone: Phone) -> Running:
    return await phone.open(records=DEMO)


async def answer(app: Running, page: str, typed: dict[str, str], *taps: str) -> None:
    await app.go(f"/setup/{page}")
    await app.tap(*taps)
    for key, digits in typed.items():
        await app.type(digits, key)
    await app.tap("go-on")
    assert app.path == "/setup", app.all_texts("fault")


async def test_today_warns_in_one_line_and_leads_to_the_page(demo: Running):
    line = demo.text("hazard-line")
    assert line.startswith("If the lime pump sticks on, pH passes 9.00 after ")
    assert "would keep it below 8.80" in line
    await demo.tap("to-hazard")
    assert demo.path == "/plan/hazard"
    assert demo.text("verdict") in line


async def test_guards_that_settle_it_silence_today(demo: Running):
    guards = {"pump_cut_off_hours": "0.3"}
    await answer(demo, "guards", guards, "siphon_break-yes")
    await demo.go("/")
    assert not demo.has("hazard-line")
    await demo.go("/plan/hazard")
    assert demo.text("verdict") == "No single fault of pump or container takes pH past 8.80."


async def test_page_has_every_accident_worst_first_with_its_figures(demo: Running):
    await demo.go("/plan/hazard")
    dangers = demo.store.snapshot.dangers
    assert dangers is not None
    shown = [
        str(c.key).removeprefix("figures-")
        for c in demo.screen.controls()
        if str(getattr(c, "key", "")).startswith("figures-")
    ]
    assert shown == [str(case.kind) for case in dangers.hazards.cases]
    assert demo.says("Act now (pH 8.80): after ")
    assert not demo.says("At its worst:")
    await demo.tap("figures-return_stopped")
    assert demo.says("At its worst: pH ")
    assert demo.says("Aragonite saturation ")
    for key in ("course-0", "course-1", "after"):
        assert demo.has(key), key


async def test_what_if_changes_the_verdict_and_records_nothing(demo: Running):
    await demo.go("/plan/hazard")
    before, stored = demo.text("what-if-verdict"), len(demo.stored())
    while demo.text("value-container") != "1.5 L":
        await demo.tap("less-container")
    assert demo.text("what-if-verdict") != before
    assert demo.text("what-if-verdict").startswith("If the lime container empties at once")
    await demo.tap("more-break")
    assert demo.text("value-break") == "built in"
    assert demo.text("what-if-verdict").startswith("No single fault")
    await demo.tap("what-if-reset")
    assert demo.text("what-if-verdict") == before
    assert len(demo.stored()) == stored


async def test_what_if_gives_what_the_engine_gives_for_that_set_up(demo: Running):
    snapshot = demo.store.snapshot
    found = what_if(snapshot, {"cut_off": 0.5})
    facts = gather(snapshot.records, system=snapshot.system, now=snapshot.now)
    by_guards = assess(facts, guards=Guards(cut_off_h=0.5))
    assert snapshot.setup is not None
    by_setup = assess(replace(facts, setup=replace(snapshot.setup, pump_cut_off_hours=0.5)))
    assert [c.worst_bad for c in by_guards.cases] == [c.worst_bad for c in by_setup.cases]
    assert found is not None
    assert found.changed


@pytest.mark.parametrize("name", SCENARIOS)
async def test_steppers_can_be_driven_to_both_ends(phone: Phone, name: str):
    app = await phone.open(records=scenario_records(name, START))
    await app.go("/plan/hazard")
    parts = [part for part in ("container", "cut_off", "rate") if app.has(f"less-{part}")]
    assert parts
    for part in parts:
        for way in ("less", "more"):
            for _ in range(30):
                if app.screen.find(f"{way}-{part}").disabled:
                    break
                await app.tap(f"{way}-{part}")
            assert not app.failed


async def test_what_does_not_touch_the_hazards_does_not_work_them_out_again(demo: Running):
    book = demo.store._danger.book
    before = book.worked_out
    await demo.go("/record")
    await demo.tap("form-note")
    await demo.write("words", "Cleaned the glass")
    await demo.tap("save")
    await demo.record("nitrate", "5")
    assert book.worked_out == before
    await demo.record("pH_nbs", "8.33")
    assert book.worked_out == before + 1


@pytest.mark.parametrize("name", SCENARIOS)
def test_records_that_the_key_leaves_out_change_no_hazard(name: str):
    records = scenario_records(name, START)
    system = records[0].system
    setups = [r for r in records if isinstance(r, Setup)]
    note = Note(id="x:1", at=START, recorded_at=START, system=system, note="seen")
    plain = assess(gather(records, system=system, now=START))
    noted = assess(gather((*records, note), system=system, now=START))
    assert plain == noted
    assert key_of(records, setups[-1], system, START) == key_of(
        (*records, note), setups[-1], system, START
    )


async def test_known_hazards_cost_next_to_nothing(demo: Running):
    snapshot, book = demo.store.snapshot, DangerBook()
    key = key_of(snapshot.standing, snapshot.setup, snapshot.system, snapshot.now)

    def seconds() -> float:
        started = time.perf_counter()
        book.work_out(snapshot.records, key, snapshot.system, snapshot.now)
        return time.perf_counter() - started

    first, again = seconds(), min(seconds() for _ in range(5))
    print(f"hazards known already: {again / first:.5f} of working them out")
    assert again < 0.05 * first
    assert book.worked_out == 1


async def figures(app: Running) -> dict:
    await app.record("pH_nbs", "8.31")
    assert app.host.figures is not None
    return json.loads(json.dumps(app.host.figures))


async def test_card_gets_the_systems_own_worst_case_readings_and_rescue(demo: Running):
    found = await figures(demo)
    assert (found["format"], found["version"]) == ("sumpside-figures", 2)
    (system,) = found["systems"]
    assert system["worst"][0].startswith("If the lime pump sticks on")
    assert any(line.startswith("Without limewater") for line in system["stop_safe"])
    pH = system["readings"][0]
    assert (pH["label"], pH["value"], pH["at"]) == ("pH", "8.31", START.isoformat())
    assert system["rescue"]["from"].startswith("If limewater brought pH to 9.0")
    assert [row["percent"] for row in system["rescue"]["changes"]] == [10, 25, 50]
    assert any("Salt water ready" in line for line in system["rescue"]["said"])
    assert any("Air alone" in line for line in system["rescue"]["said"])
    setup = demo.store.snapshot.setup
    assert system["pump_L_per_h"] == setup.pump_L_per_h
    assert system["fresh_water_container_L"] == setup.fresh_water_container_L
    await demo.go("/plan/hazard")
    verdict, *rest = system["worst"]
    assert verdict.startswith(demo.text("verdict"))  # the card says what the page says
    assert demo.says(verdict.removeprefix(demo.text("verdict")).strip())
    assert demo.text("ready") in system["rescue"]["said"]
    assert rest


async def test_in_an_overdose_the_cards_rescue_starts_from_its_own_readings(demo: Running):
    await demo.go("/incident")
    await demo.tap("start-incident")
    for form, digits in (("total_alkalinity", "11.5"), ("pH_nbs", "8.92")):
        await demo.go(f"/incident/{form}")
        await demo.type(digits)
        await demo.tap("save")
        if demo.has("keep"):
            await demo.tap("keep")
    rescue = demo.host.figures["systems"][0]["rescue"]
    assert rescue["from"] == "From your reading of pH 8.92 and 11.5 dKH:"
    await demo.go("/incident")
    for row in rescue["changes"]:  # the card's table is the page's
        low, high = row["alkalinity"]
        assert demo.says(f"Changing {row['percent']} % brings pH to about {row['pH'][1]:.2f} and")
        ends = dict.fromkeys((f"{low:.1f}", f"{high:.1f}"))  # a range of one figure is that figure
        assert demo.says(f"alkalinity to {' to '.join(ends)} dKH")
        assert demo.says(f"Calcium: about {row['calcium_mg_per_L']:.0f} mg/L.")


async def test_card_of_a_fresh_system_says_only_what_is_known(app: Running):
    await app.record("salinity", "35")
    (system,) = app.host.figures["systems"]
    assert system["worst"][-1] == "pH is not told here: alkalinity was never tested."
    assert all(": Alkalinity rises by " in line for line in system["worst"][:-1])
    assert not any("pH passes" in line for line in system["worst"])
    assert system["rescue"] is None
    assert [row["label"] for row in system["readings"]] == ["Salinity"]


async def test_without_alkalinity_the_page_says_hold_and_gives_no_figure(app: Running):
    await app.go("/plan/hazard")
    assert app.text("verdict").startswith("No verdict on this set-up. Hold the lime")
    assert app.says("An alkalinity test gives pH, times and sizes")
    assert app.says("Alkalinity rises by ")
    assert not app.says("pH passes")
    assert not app.says(TEXTS["sizes_title"])
    assert not app.says(TEXTS["what_if_title"])
    assert not app.has("course-0")
    await app.tap("to-test")
    assert app.path == "/record/total_alkalinity"
