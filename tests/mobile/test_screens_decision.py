"""What Today and Plan say together: a pause stands on both, a change is recorded by one tap."""

from datetime import UTC, datetime

from tests.support.app import Phone, Running, scenario_records

START = datetime(2026, 11, 24, 9, 0, tzinfo=UTC)


async def paused(app: Running) -> None:
    """Walk a recharge until limewater is switched off."""
    await app.go("/mix/recharge_vessel")
    await app.tap("answer-start", "answer-done", "answer-calcium_hydroxide", "answer-below")
    await app.tap("answer-stays", "answer-quiet", "answer-away", "answer-near")
    await app.tap(*["answer-done"] * 3, *["answer-on"] * 3)
    await app.tap("answer-off")


async def test_plan_and_mix_say_the_pause_and_give_no_dose(app: Running):
    await paused(app)
    await app.go("/")
    assert app.text("decision").startswith("Limewater is paused since")
    await app.go("/plan")
    assert app.text("plan-lead").startswith("Limewater is paused since")
    assert app.says("Keep it off until the procedure is finished.")
    assert not app.has("plan-dose")
    await app.go("/mix")
    assert app.says("Limewater is paused since")


async def test_one_tap_records_what_today_asks_for(phone: Phone):
    app = await phone.open(records=scenario_records("kettle_july", START))
    asked = app.text("decision")
    before = len(app.stored("delivery_setting"))
    await app.tap("as-told")
    new = app.stored("delivery_setting")
    assert len(new) == before + 1
    assert f"{new[-1]['limewater_L_per_day']:g} L a day" in asked
    assert not app.has("as-told"), "it is set now"


async def test_nothing_to_do_offers_nothing_to_record_and_shows_what_is_kept(phone: Phone):
    app = await phone.open(records=scenario_records("demo_system", START))
    assert app.text("decision") == "5 L a day is right. The set-up is not safe."
    assert not app.has("as-told")
    await app.go("/plan")
    assert app.text("plan-dose") == "5 L a day"
