"""Mix on the screen: gates, the powder recorded, killed and resumed, what Today says meanwhile."""

from dataclasses import replace

import pytest

from engine.procedures.schema import StepKind
from mobile.procedures import load_procedure
from tests.support.app import Phone, Running, first_records

PROCEDURE = load_procedure("recharge_vessel")
STEPS = {step.key: step for step in PROCEDURE.steps}
PATH = "/mix/recharge_vessel"


def step(app: Running) -> str:
    """Return the step that is on the screen."""
    keys = {str(getattr(control, "key", "")) for control in app.screen.controls()}
    (found,) = (key for key in keys if key.startswith("step-"))
    return found.removeprefix("step-")


async def go_on(app: Running) -> None:
    """Do the step on the screen as asked."""
    current = STEPS[step(app)]
    if current.kind is StepKind.WAIT:
        app.clock.move(hours=4, minutes=1)
        app.store.refresh_if_ready()
        await app.screen.settle()
        await app.tap("answer-continue")
    elif current.kind is StepKind.AMOUNT:
        (key,) = (k for k in buttons(app) if k.startswith("answer-"))
        await app.tap(key)
    else:
        await app.tap(f"answer-{current.options[0].answer}")
    assert step(app) != current.key, f"no way on from {current.key}: {app.screen.texts()}"


def buttons(app: Running) -> list[str]:
    return [c.key for c in app.screen.controls() if getattr(c, "on_click", None) and c.key]


async def walk_to(app: Running, key: str) -> None:
    while step(app) != key:
        await go_on(app)


async def begun(app: Running, until: str = "read") -> None:
    await app.place("mix")
    await app.tap("procedure-recharge_vessel")
    assert app.path == PATH
    await app.tap("answer-start")
    await walk_to(app, until)


async def test_start_page_tells_hazards_and_reads_ahead(app: Running):
    await app.go(PATH)
    assert step(app) == "none"
    assert app.says("Causes serious eye damage.")
    await app.tap("ahead")
    assert app.says(f"{len(STEPS)}. ")
    await app.tap("ahead")
    assert not app.says(f"{len(STEPS)}. ")


async def test_wrong_powder_stops_the_run_and_nothing_is_dosed(app: Running):
    await begun(app, "label")
    assert app.text("step") == "What does the label on the powder say?"
    await app.tap("answer-other")
    assert app.text("step") == "This run was stopped."
    assert app.says("Do not use this powder.")
    assert app.says("Nothing was changed on the system.")
    assert app.stored("recharge") == []
    assert app.stored("procedure_run")[-1]["event"] == "stopped"
    await app.place("history")
    assert app.says("Procedure: Recharge the stirred vessel, stopped")


async def test_gate_that_is_not_met_holds_the_step(app: Running):
    await begun(app, "children_pets")
    before = app.stored()
    await app.tap("answer-near")
    assert step(app) == "children_pets"
    assert app.text("held") == "Keep the powder closed until they are out."
    assert app.stored() == before
    await app.tap("answer-away")
    assert not app.has("held")


async def test_recorded_high_pH_contradicts_the_answer(app: Running):
    await app.record("pH_nbs", "8.45")
    await begun(app, "pH")
    await app.tap("answer-below")
    assert step(app) == "pH"
    assert app.text("held").startswith("Your last record says pH 8.45.")


async def test_quick_second_tap_skips_no_step(app: Running):
    await begun(app, "draught")
    done = app.screen.find("answer-done")
    await app.screen.session.dispatch_event(done._i, "click", None)
    await app.screen.session.dispatch_event(done._i, "click", None)
    await app.screen.settle()
    assert step(app) == "lenses"


async def test_killed_in_the_middle_it_goes_on_at_the_same_step(phone: Phone, app: Running):
    await begun(app, "mask")
    app.clock.move(hours=1)
    app = await phone.reopen(app)
    assert app.text("resume-procedure") == "Go on: Recharge the stirred vessel"
    await app.place("mix")
    place = list(STEPS).index("mask") + 1
    assert app.says(f"Under way: step {place} of {len(STEPS)}")
    await app.place("today")
    await app.tap("resume-procedure")
    assert app.path == PATH
    assert step(app) == "mask"


async def test_today_says_that_limewater_is_paused_until_it_is_on_again(phone: Phone, app: Running):
    await begun(app, "stirrer_off")
    assert app.text("paused") == "Limewater is paused since 09:00."
    app = await phone.reopen(app)
    assert app.text("decision") == "Limewater is paused since 09:00."
    assert app.says("Keep it off until the procedure is finished.")
    await app.tap("resume-procedure")
    await walk_to(app, "first_hour")
    assert not app.has("paused")
    await app.place("today")
    assert not app.text("decision").startswith("Limewater is paused")


async def test_run_to_the_end_records_the_powder_once(phone: Phone, app: Running):
    await begun(app, "weigh")
    advised = app.text("step").removeprefix("Weigh ").partition(" of powder")[0]
    await walk_to(app, "rest")
    app = await phone.reopen(app)
    await app.go(PATH)
    assert step(app) == "rest"
    assert app.text("countdown").startswith("2 h 0 min until you may go on")
    assert not any(key.startswith("answer-") for key in buttons(app))
    app.clock.move(hours=2, minutes=1)
    app.store.refresh_if_ready()
    await app.screen.settle()
    assert app.text("countdown").startswith("You may go on. Better wait")
    assert app.has("answer-continue_early")
    while app.text("step") != "Finished. Check the strength of the limewater in 24 hours.":
        await go_on(app)
    (recharge,) = app.stored("recharge")
    assert f"{recharge['powder_g']:g} g" == advised
    assert recharge["container"] == "vessel"
    assert app.stored("procedure_run")[-1]["event"] == "finished"
    await app.place("today")
    assert not app.has("resume-procedure")
    assert app.says("Powder for")
    await app.place("history")
    assert app.text(f"line-{recharge['id']}").startswith(f"Powder put in: {advised}")
    assert app.says("Procedure: Recharge the stirred vessel, finished")


async def test_another_amount_is_typed_and_an_unusual_one_confirmed(app: Running):
    await begun(app, "weigh")
    await app.tap("other-amount")
    await app.type("9000")
    await app.tap("use-amount")
    assert step(app) == "weigh"
    assert "more than this vessel may be given" in app.text("held")
    assert not app.has("confirm-amount")
    await app.tap("other-amount")
    await app.type("20")
    assert app.text("figure-amount") == "20 g"
    await app.tap("use-amount")
    assert app.text("held").startswith("20 g is far from the")
    assert app.stored("recharge") == []
    await app.tap("confirm-amount")
    assert step(app) == "close_tub"
    await walk_to(app, "wipe_seal")
    assert [record["powder_g"] for record in app.stored("recharge")] == [20.0]


async def test_stopping_asks_first_and_says_what_it_leaves(app: Running):
    await begun(app, "stirrer_off")
    await app.tap("stop-run")
    assert app.says("Limewater is still switched off.")
    await app.tap("stop-no")
    assert step(app) == "stirrer_off"
    await app.tap("stop-run", "stop-yes")
    assert app.text("step") == "You stopped this run."
    await app.place("today")
    assert app.text("decision").startswith("Limewater is paused since")
    await app.place("record")
    await app.record("delivery_setting", "5", "when_quarter")
    assert app.text("decision").startswith("Limewater is paused since"), "set before the stop"
    app.clock.move(minutes=10)
    await app.record("delivery_setting", "5")
    assert not app.text("decision").startswith("Limewater is paused")


async def test_clock_moved_back_in_a_wait_offers_to_start_it_anew(app: Running):
    await begun(app, "rest")
    app.clock.move(days=-1)
    await app.go(PATH)
    assert app.says("This phone's clock was moved back.")
    await app.tap("answer-wait_again")
    assert step(app) == "rest"
    assert app.text("countdown").startswith("2 h 0 min until you may go on")


@pytest.mark.parametrize("lacking", ["vessel_L", "limewater"])
async def test_recharge_that_cannot_be_worked_out_does_not_start(phone: Phone, lacking: str):
    setup, setting = first_records()
    if lacking == "vessel_L":
        setup = replace(setup, vessel_L=None, lime_container_L=20.0, delivery="pump_container")
    records = (setup, setting) if lacking == "vessel_L" else (setup,)
    app = await phone.open(records=records)
    await app.go(PATH)
    assert app.says("This cannot be worked out:")
    assert not app.has("answer-start")
