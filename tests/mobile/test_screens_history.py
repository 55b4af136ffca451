"""History: the log as written; amended by superseding, withdrawn in two steps, never rewritten."""

from dataclasses import replace
from datetime import datetime

import pytest

from engine.records import Addition, Reading, Record, Refill, WaterChange, WaterTest
from mobile.state.forms import FORMS
from tests.support.app import START, Phone, Running, first_records, scenario_records
from tests.support.entries import AMOUNTS, READINGS, assert_holds, records_for

# What is typed over the first field when it is amended: other digits, the same unit.
BETTER = {form: digits[0] for form, digits in READINGS.items()} | {
    "total_alkalinity": "8.4",
    "calcium": "431",
    "magnesium": "1340",
    "pH_nbs": "8.2",
    "salinity": "35.3",
    "temperature": "77.4",
    "nitrate": "6",
    "phosphate": "0.05",
    "room_co2": "700",
    "tds": "1",
    "refill": "6",
    "delivery_setting": "5.2",
    "pump_check": "110",
    "recharge": "0.13",
    "strength_conductivity": "7.5",
    "strength_dilution": "5.5",
    "strength_titration": "38",
    "second_two_part": "55",
    "second_reactor": "50",
    "water_change": "50",
    "addition": "40",
    "powder_stock": "2",
    "pack_opened": "450",
    "supply_solution": "1500",
    "supply_kit": "30",
}


async def recorded(app: Running, form: str) -> dict:
    """Record a form's entry of tests.support.entries an hour before now; return it as stored."""
    await app.go(f"/record/{form}")
    if form in READINGS:
        digits, unit, _value = READINGS[form]
        await app.type(digits)
        await app.tap(*[f"unit-{form}-{unit}"] if unit else [])
    else:
        fields, taps, _expected = AMOUNTS[form]
        for key, digits in fields.items():
            await app.type(digits, key)
        await app.tap(*taps)
    await app.tap("when_hour", "save")
    return app.stored()[-1]


async def opened(app: Running, record_id: str) -> None:
    await app.place("history")
    await app.tap(f"line-{record_id}")
    assert app.path == f"/history/{record_id}"


WORKED_OUT = ("alkalinity_meq", "alkalinity_meq_per_day", "fraction_of_saturation")
NUMBERS = [form for form in (*READINGS, *AMOUNTS) if FORMS[form].fields]


@pytest.mark.parametrize("form", NUMBERS)
async def test_every_kind_is_amended_by_a_new_entry_beside_it(phone: Phone, form: str):
    app = await phone.open(records=records_for(form))
    before = await recorded(app, form)
    app.clock.move(hours=2)
    await opened(app, before["id"])
    await app.tap("amend")
    first = FORMS[form].fields[0].key
    shown = {f.key: app.text(f"figure-{f.key}") for f in FORMS[form].fields}
    if form in READINGS:
        digits, unit, _value = READINGS[form]
        assert shown == {form: digits}
        taps = [f"unit-{form}-{unit}"] if unit else []
    else:
        fields, taps, _expected = AMOUNTS[form]
        assert {key: digits for key, digits in shown.items() if digits != "–"} == fields
    for key in taps:
        if not key.startswith("unit-") or f"-{first}-" in key:
            assert app.text(key).startswith("✓"), f"{key} is chosen as before"
    assert not app.has("when"), "the time stays"
    await app.tap(f"field-{first}")
    await app.erase(len(shown[first]))
    await app.type(BETTER[form])
    await app.tap("save")
    assert app.path == "/history", app.screen.texts()
    assert app.notice == "Amended. The log keeps the old entry, too."
    amendment = app.stored()[-1]
    assert amendment["kind"] == "amendment"
    assert amendment["supersedes"] == before["id"]
    new = amendment["replacement"]
    assert (new["kind"], new["at"], new["system"]) == (
        before["kind"],
        before["at"],
        before["system"],
    )
    assert datetime.fromisoformat(new["recorded_at"]) == app.clock.now
    if form in READINGS:
        assert new["readings"][0]["typed"] == BETTER[form]
        assert new["readings"][0]["typed_unit"] == before["readings"][0]["typed_unit"]
    else:
        assert new["typed"] == before["typed"].replace(shown[first], BETTER[form], 1)
        same = {k: v for k, v in AMOUNTS[form][2].items() if k not in (first, "typed")}
        for worked_out in WORKED_OUT:
            if worked_out in same:
                assert new[worked_out] != same.pop(worked_out)
        assert_holds(new, same)
    assert app.repository.record(before["id"]) == before, "nothing is rewritten"
    assert app.text(f"line-{before['id']}").endswith("amended later")
    assert app.has(f"line-{amendment['id']}")


async def test_happening_is_told_in_words_and_amended_to_another(app: Running):
    before = await recorded(app, "happening")
    await opened(app, before["id"])
    assert app.says("Fans on")
    await app.tap("amend")
    assert app.text("what-fans_on") == "✓ Fans on"
    await app.tap("what-another", "what-windows_shut", "save")
    new = app.stored("amendment")[-1]["replacement"]
    assert (new["what"], new["detail"]) == ("windows", "shut")
    assert app.says("Something changed: Windows shut now")


async def test_amended_entry_shows_both_and_can_be_amended_again(phone: Phone, app: Running):
    first = await recorded(app, "calcium")
    for digits in ("430", "440"):
        app.clock.move(minutes=5)
        await opened(app, app.stored()[-1]["id"])
        await app.tap("amend")
        await app.erase(3)
        await app.type(digits)
        await app.tap("save")
    second, third = app.stored("amendment")
    assert third["supersedes"] == second["id"]
    standing = [r for r in app.store.snapshot.standing if r.kind == "water_test"]
    assert [r.readings[0].typed for r in standing] == ["440"]
    await opened(app, first["id"])
    assert app.says("Typed as 425 mg/L")
    assert app.says("amended later")
    assert not app.has("amend")
    app = await phone.reopen(app)
    await app.place("history")
    assert app.text(f"line-{third['id']}").startswith("Calcium: 440 mg/L")


async def test_note_is_amended(app: Running):
    await app.go("/record/note")
    await app.write("words", "Left pump hums 🐠")
    await app.tap("save")
    (note,) = app.stored("note")
    await opened(app, note["id"])
    await app.tap("amend")
    assert app.screen.find("words").value == "Left pump hums 🐠"
    await app.write("words", "Right pump hums 🐠")
    await app.tap("save")
    (amendment,) = app.stored("amendment")
    assert amendment["replacement"]["note"] == "Right pump hums 🐠"
    assert app.repository.record(note["id"]) == note


async def test_emptied_note_is_not_saved(app: Running):
    await app.go("/record/note")
    await app.write("words", "  \n ")
    await app.tap("save")
    assert app.text("finding") == "Write something first."
    assert app.stored("note") == []


async def test_amending_is_not_compared_with_the_entry_itself(app: Running):
    await app.record("total_alkalinity", "8.2")
    await opened(app, app.stored()[-1]["id"])
    await app.tap("amend")
    await app.erase(3)
    await app.type("9.2")
    await app.tap("save")
    assert app.path == "/history"
    assert app.stored("amendment")[0]["replacement"]["readings"][0]["confirmed"] is False


async def test_withdrawing_takes_two_steps_and_keeps_the_entry(phone: Phone, app: Running):
    before = await recorded(app, "calcium")
    await opened(app, before["id"])
    await app.tap("withdraw")
    assert app.stored("amendment") == []
    assert app.says("The log keeps it, struck out. Numbers no longer use it.")
    await app.tap("withdraw-sure")
    assert app.path == "/history"
    assert app.notice == "Withdrawn. The log still shows it, struck out."
    (amendment,) = app.stored("amendment")
    assert (amendment["supersedes"], amendment["replacement"]) == (before["id"], None)
    assert app.repository.record(before["id"]) == before
    assert app.text(f"line-{before['id']}").endswith("withdrawn later")
    app = await phone.reopen(app)
    assert [r for r in app.store.snapshot.standing if r.kind == "water_test"] == []
    await app.go("/record")
    assert app.text("form-calcium") == "Calcium / from your test kit"


async def test_leaving_an_amendment_changes_nothing(app: Running):
    before = await recorded(app, "refill")
    await opened(app, before["id"])
    await app.tap("amend")
    await app.type("9")
    await app.tap("cancel")
    assert app.path == "/history"
    assert app.stored("amendment") == []


async def test_journal_only_grows(phone: Phone, app: Running):
    before = await recorded(app, "calcium")
    journal = phone.journal.read_bytes()
    await opened(app, before["id"])
    await app.tap("withdraw", "withdraw-sure")
    grown = phone.journal.read_bytes()
    assert len(grown) > len(journal)
    assert grown[: len(journal)] == journal


KEPT = ("kind", "at", "system", "container", "to_mark", "method", "salt", "counted")


async def test_entry_that_was_not_typed_here_is_prefilled_with_what_is_kept(phone: Phone):
    demo = scenario_records("demo_system", START)
    app = await phone.open(records=(*demo, *OTHERS))
    seen = set()
    for before in app.stored():
        if before["kind"] in seen or before["kind"] in ("setup", "event", "note"):
            continue
        seen.add(before["kind"])
        await app.go(f"/history/{before['id']}")
        await app.tap("amend", "save")
        assert app.path == "/history", (before, app.screen.texts())
        new = app.stored()[-1]["replacement"]
        assert_holds(new, {key: before[key] for key in KEPT if key in before})
        numbers = {key: value for key, value in before.items() if isinstance(value, float)}
        assert_holds(new, numbers)
        if before["kind"] == "pump_check":
            assert new["measured_mL"] == before["measured_mL"]
    assert len(seen) == 10


def other(number: int, record_class: type, **fields: object) -> Record:
    frame = {"id": f"x:{number}", "at": START, "recorded_at": START, "system": "main"}
    return record_class(**frame, **fields)


OTHERS = (
    other(1, WaterChange, volume_L=40.0, new_total_alkalinity_meq_per_L=2.9),
    other(2, Addition, alkalinity_meq=500.0, salt="bicarbonate", salt_g=500.0 * 0.0840067),
)


async def test_entry_in_a_unit_that_is_not_ours_is_prefilled_in_ours(phone: Phone):
    setup, setting = first_records()
    strange = Reading(parameter="calcium", value=420.0, typed="42", typed_unit="spoons")
    test = other(3, WaterTest, readings=(strange,))
    refill = other(4, Refill, volume_L=5.0, typed="volume_L: 1.3 buckets")
    mine = tuple(replace(record, system="reef") for record in (test, refill))
    app = await phone.open(records=(setup, setting, *mine))
    await app.go(f"/history/{app.stored('water_test')[0]['id']}")
    await app.tap("amend")
    assert app.text("figure-calcium") == "420"
    assert app.text("unit-calcium-mg/L").startswith("✓")
    await app.go(f"/history/{app.stored('refill')[0]['id']}")
    await app.tap("amend")
    assert app.text("figure-volume_L") == "5"
    await app.record("calcium", "425")
    assert app.stored("water_test")[-1]["readings"][0]["typed_unit"] == "mg/L"


async def test_long_log_is_shown_in_parts(phone: Phone):
    app = await phone.open(records=scenario_records("demo_system", START))
    for number in range(25):
        await app.store.save([app.store.make(FORMS["note"].record, {"note": f"note {number}"})])
    await app.go("/history")
    lines = [c for c in app.screen.controls() if str(getattr(c, "key", "")).startswith("line-")]
    assert len(lines) == 60
    await app.tap("older")
    lines = [c for c in app.screen.controls() if str(getattr(c, "key", "")).startswith("line-")]
    assert len(lines) == 45 + 25
    assert not app.has("older")


async def test_set_up_is_changed_by_making_a_new_one(app: Running):
    (setup,) = app.stored("setup")
    await opened(app, setup["id"])
    assert app.says("Its figures are changed by making a new entry.")
    assert app.text("amend") == "Change its time"
