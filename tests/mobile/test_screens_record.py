"""Record: every form typed with the keypad, saved, read back as typed and meant."""

from datetime import datetime, timedelta

import pytest

from mobile.state.forms import FORMS
from tests.support.app import START, Phone, Running
from tests.support.entries import AMOUNTS, READINGS, assert_holds, records_for


def test_every_form_is_tried_here():
    own = {"note", "second_source"}  # words; and what is amended only, tested with amending
    assert set(READINGS) | set(AMOUNTS) | own == set(FORMS)


async def saved_again(phone: Phone, app: Running) -> dict:
    """Kill the app; return the last record that the next start finds."""
    app = await phone.reopen(app)
    return app.stored()[-1]


@pytest.mark.parametrize("form", READINGS)
async def test_reading_is_kept_as_typed_beside_its_value(phone: Phone, app: Running, form: str):
    digits, unit, value = READINGS[form]
    await app.record(form, digits, *([f"unit-{form}-{unit}"] if unit else []))
    assert app.path == "/"
    assert app.notice.startswith(f"Saved: {FORMS[form].fields[0].label} {digits}")
    record = await saved_again(phone, app)
    assert record["kind"] == "water_test"
    (reading,) = record["readings"]
    assert reading["parameter"] == form
    assert reading["value"] == pytest.approx(value, rel=1e-9)
    assert reading["typed"] == digits
    assert reading["typed_unit"] == (unit or FORMS[form].fields[0].units[0])
    assert reading["confirmed"] is False
    assert datetime.fromisoformat(record["at"]) == START


@pytest.mark.parametrize("form", AMOUNTS)
async def test_amounts_and_choices_are_kept(phone: Phone, form: str):
    fields, taps, expected = AMOUNTS[form]
    app = await phone.open(records=records_for(form))
    await app.go("/record")
    await app.tap(f"form-{form}")
    for key, digits in fields.items():
        await app.type(digits, key)
    await app.tap(*taps, "save")
    assert app.path == "/", app.screen.texts()
    assert app.notice.startswith(f"Saved: {FORMS[form].title}, ")
    assert_holds(await saved_again(phone, app), expected)


NOTE = "Zwei neue Ableger 🐠, links.\nSecond line: 水, «ok» & <b>.\n8,2 – {not} a [code]"


async def test_note_keeps_pasted_lines_and_emoji(phone: Phone, app: Running):
    await app.go("/record/note")
    await app.write("words", NOTE)
    await app.tap("save")
    assert app.path == "/"
    record = await saved_again(phone, app)
    assert (record["kind"], record["note"]) == ("note", NOTE)


async def test_usual_test_takes_four_taps_and_the_digits(app: Running):
    taps = 0
    app.screen.tap, real = None, app.screen.tap  # type: ignore[method-assign]

    async def counted(key: str) -> None:
        nonlocal taps
        taps += not key.startswith("key-")
        await real(key)

    app.screen.tap = counted  # type: ignore[method-assign]
    await app.place("record")
    taps += 1
    await app.tap("form-total_alkalinity")
    await app.type("8.2")
    await app.tap("save")
    assert app.notice == "Saved: Alkalinity 8.2 dKH."
    assert taps <= 4


async def test_list_shows_the_last_value_and_the_unit_is_remembered(app: Running):
    await app.record("total_alkalinity", "148", "unit-total_alkalinity-mg/L CaCO3")
    app.clock.move(hours=3)
    await app.go("/record")
    assert app.text("form-total_alkalinity") == "Alkalinity / Last: 8.3 dKH, 3 h ago"
    assert app.text("form-calcium") == "Calcium / from your test kit"
    await app.tap("form-total_alkalinity")
    assert app.text("unit-total_alkalinity-mg/L CaCO3").startswith("✓")


async def test_time_is_moved_back_by_taps(app: Running):
    await app.go("/record/calcium")
    await app.type("420")
    await app.tap("when_day", "when_hour", "when_quarter", "when_quarter")
    assert app.text("when") == "When: 1 d 1 h 30 min ago"
    await app.tap("save")
    (test,) = app.stored("water_test")
    assert datetime.fromisoformat(test["at"]) == START - timedelta(days=1, hours=1, minutes=30)
    assert datetime.fromisoformat(test["recorded_at"]) == START


async def test_time_is_moved_back_to_now(app: Running):
    await app.go("/record/calcium")
    await app.tap("when_day", "when_reset")
    assert app.text("when") == "When: Now"
    assert not app.has("when_reset")


async def test_keypad_erases_and_takes_one_point(app: Running):
    await app.go("/record/calcium")
    await app.type("..4.2")
    assert app.text("figure-calcium") == "0.42"
    await app.erase(9)
    assert app.text("figure-calcium") == "–"
    await app.type("12345678901234")
    assert app.text("figure-calcium") == "123456789"


async def test_open_entry_holds_back_an_update_until_it_is_left(app: Running):
    await app.go("/record/calcium")
    assert not app.host.busy
    await app.type("4")
    assert app.host.busy
    await app.tap("cancel")
    assert app.path == "/record"
    assert not app.host.busy
    assert app.stored("water_test") == []


async def test_undo_is_offered_for_ten_seconds_and_withdraws(app: Running, later: list):
    await app.record("calcium", "420")
    ((delay, fade),) = later
    assert delay == 10
    assert app.text("undo") == "Undo"
    await app.tap("undo")
    assert app.notice == "Taken back. The log keeps both the entry and its withdrawal."
    assert not app.has("undo")
    test, amendment = app.stored()[-2:]
    assert test["kind"] == "water_test"
    assert (amendment["supersedes"], amendment["replacement"]) == (test["id"], None)
    assert app.store.snapshot.standing[-1].kind != "water_test"
    fade()
    assert app.notice.startswith("Taken back."), "the old offer's end touches no later notice"


async def test_offer_to_undo_ends_by_itself(app: Running, later: list):
    await app.record("calcium", "420")
    ((_delay, fade),) = later
    fade()
    await app.screen.settle()
    assert app.notice == ""
    assert not app.has("undo")
    assert len(app.stored("water_test")) == 1
    assert app.stored("amendment") == []


async def test_two_quick_taps_save_once(app: Running):
    await app.go("/record/calcium")
    await app.type("420")
    save = app.screen.find("save")
    for _ in range(2):
        await app.screen.session.dispatch_event(save._i, "click", None)
    await app.screen.settle()
    assert len(app.stored("water_test")) == 1


async def test_saved_figures_reach_the_emergency_card(app: Running):
    await app.record("delivery_setting", "4.5")
    assert app.host.figures is not None
    (system,) = app.host.figures["systems"]
    assert system["name"] == "My reef"
    assert system["limewater_L_per_day"] == 4.5
    assert system["net_volume_L"] == pytest.approx([405.0, 450.0, 495.0])
